"""`python -m kilnctl`: the front door where its script is not on the path."""

from kilnctl.cli.main import main

if __name__ == "__main__":
    main()
