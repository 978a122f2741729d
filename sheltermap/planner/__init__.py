"""Exact plans from plain numbers: no weather, file or page is known here."""
