"""Suitability: night, kit and hazards in, the share of sound nights and the reason out."""
