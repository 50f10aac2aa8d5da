"""`true`: readings of a wheel become nipple turns, pass by pass, with what each pass will bring."""
