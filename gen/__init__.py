"""Jobs: what the shop knows, the plan made from it, and the proof that a program carries it out."""
