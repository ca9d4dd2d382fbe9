"""The worksheet of a stage or a whole build: what to measure, with boxes to write in, and back into the site later."""
