"""From the rack to the parcel: picking, building, sending."""
