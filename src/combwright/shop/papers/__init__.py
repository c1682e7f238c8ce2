"""Labels on sheets and rolls, and scanning them."""
