"""HTTPS of the workshop's own: who vouches for the shop, and the certificate it is served with."""
