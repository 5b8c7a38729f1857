"""Lets ``python -m analyzer`` stand for the ``class-analyzer`` command."""

import sys

from analyzer.cli import main

if __name__ == "__main__":
    sys.exit(main())
