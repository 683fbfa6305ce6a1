"""``python -m rebuildbook``: the command on a named interpreter."""

from rebuildbook.cli import main

if __name__ == "__main__":
    main()
