"""Plans over all open orders, and the plates that they set aside."""
