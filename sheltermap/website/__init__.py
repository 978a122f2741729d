"""Website: results in, pages as bytes out; it computes nothing."""
