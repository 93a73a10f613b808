"""Run the command line with ``python -m lapping``."""

from lapping.cli import main

main()
