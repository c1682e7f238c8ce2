"""From a customer's wish to twenty reed plates, each in its seat."""

__version__ = "0.2.0"
