"""Posts: the vocabulary of motion, the text of programs, and the reading back of that text.

Nothing here knows of bores or blocks; ``gen`` imports this package, never the reverse.
"""
