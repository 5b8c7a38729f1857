"""Lets ``python -m analyzer`` stand for the ``class-analyzer`` command."""

from analyzer.cli import main

if __name__ == "__main__":
    main()
