"""The store: one SQLite file per practice. The journal is the truth, all else can be rebuilt from it."""
