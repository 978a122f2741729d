"""Hazards: layers and climate in, levels by day and place out."""
