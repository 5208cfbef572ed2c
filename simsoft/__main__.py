"""``python -m simsoft``: the same as the ``simsoft`` command."""

from simsoft.cli import main

if __name__ == "__main__":
    main()
