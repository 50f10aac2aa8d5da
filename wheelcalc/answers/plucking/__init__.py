"""`pluck`: a recording of plucked spokes becomes pitches and tensions, spoke by spoke."""
