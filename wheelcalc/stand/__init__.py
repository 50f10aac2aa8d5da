"""`stand`: one page beside the trueing stand; every number typed is on disk at once, all computing is the answers'."""
