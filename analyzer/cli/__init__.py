"""Takes the words typed. Gives words and exit codes. Never computes: every command calls the rooms and prints."""

from analyzer.cli.app import main

__all__ = ["main"]
