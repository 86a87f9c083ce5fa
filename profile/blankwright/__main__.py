"""`python -m blankwright` is the command line, for machines whose PATH does not hold it."""

from blankwright.commands.cli import main

if __name__ == "__main__":
    main()
