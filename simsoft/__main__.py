"""``python -m simsoft``: the same as the ``simsoft`` command."""

from simsoft.cli.main import main

if __name__ == "__main__":
    main()
