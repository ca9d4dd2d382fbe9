"""What is wrong or doubtful with a parts list as a circuit, found before it is solved."""
