"""What is neither a resistance nor a rectifier: currents that follow voltages by a law."""
