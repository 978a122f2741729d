"""Night: a climatology in, what a night is like out."""
