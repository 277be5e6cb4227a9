"""Run the command line as `python -m mixjt`."""

import sys

from mixjt.cli.app import main

sys.exit(main())
