"""Lessons, each a module with a function `lesson` that makes its handout from an invented press."""
