"""The command line: each command reads, calls and writes."""
