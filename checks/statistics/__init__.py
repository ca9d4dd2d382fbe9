"""Statistics over a programme of test builds: small numbers, so every share carries its interval."""
