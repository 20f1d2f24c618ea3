"""Lets ``python -m shotwindow.cli`` stand in for the command ``shotwindow``."""

from shotwindow.cli.main import main

main()
