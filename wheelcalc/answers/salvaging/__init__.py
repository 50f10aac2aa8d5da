"""`salvage`: the old wheel as gauge, which reading is wrong, what the jar can build, whether the old rim is worth it."""
