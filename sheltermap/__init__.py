"""sheltermap: which sleep kit suits a long journey, in which season, and which nights go wrong."""

__version__ = "0.1.0"
