"""Run the command line with ``python -m calendar_core``."""

from calendar_core.app.main import main

if __name__ == "__main__":
    main()
