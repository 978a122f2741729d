"""Where each leg sleeps, and what its nights, hazards and weeks are."""
