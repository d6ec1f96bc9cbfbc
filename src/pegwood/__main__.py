"""``python -m pegwood`` is the ``pegwood`` command."""

from pegwood.cli import main

if __name__ == "__main__":
    main()
