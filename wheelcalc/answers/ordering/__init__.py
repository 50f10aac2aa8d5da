"""`order`: which spokes to buy for each side, how many, where their ends will sit and how sure that is."""
