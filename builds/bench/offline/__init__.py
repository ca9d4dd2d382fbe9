"""The bench without a connection: what a phone is given to work by, and how what it kept comes in later."""
