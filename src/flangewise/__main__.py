"""`python -m flangewise`, and the entry point of the installed command."""

from flangewise.commands import main

if __name__ == "__main__":
    main()
