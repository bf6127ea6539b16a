"""`python -m digitize`."""

from digitize.cli import main

if __name__ == "__main__":
    main()
