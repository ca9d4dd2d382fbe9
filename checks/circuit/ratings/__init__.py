"""What parts have to withstand, against their ratings."""
