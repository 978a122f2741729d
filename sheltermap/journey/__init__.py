"""Journey: a trip in, a dated plan out."""
