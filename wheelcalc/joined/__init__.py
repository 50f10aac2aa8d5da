"""What several answers need of a build: its target, its rim's section, the wheel at its tensions, pitch and tension."""
