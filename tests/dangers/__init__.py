"""Tests for mistakes that can hurt someone."""
