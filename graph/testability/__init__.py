"""How well a machine's faults can be detected and told apart, and what that costs on site."""
