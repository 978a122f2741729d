"""Climate: published or embedded files in, a checked monthly climatology out."""
