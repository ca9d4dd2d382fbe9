"""Problems of a revision's builds: deviations and snags, each with one state, seen the same on every page."""
