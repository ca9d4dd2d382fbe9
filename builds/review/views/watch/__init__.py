"""Watching the builds: the dashboard, a check over all builds, a build, the programme, correlations."""
