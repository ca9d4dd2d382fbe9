"""What a meter reads in a good build: nominal, and over many good builds."""
