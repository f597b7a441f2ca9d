"""`python -m fieldnote`."""

from fieldnote.cli import main

main()
