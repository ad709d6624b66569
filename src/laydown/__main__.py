"""``python -m laydown`` is the same door as the command ``laydown``."""

from laydown.cli.main import main

if __name__ == "__main__":
    main()
