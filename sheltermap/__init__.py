"""sheltermap: which sleep kit suits a long journey, when to cross each region, and which nights go wrong."""

__version__ = "0.1.0"
