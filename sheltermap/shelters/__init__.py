"""Shelters: kits in, tolerance limits out."""
