"""`mixjt charge`: what it prints, its record and files, and what it refuses."""

import csv
import json
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path

import pytest
from cli_samples import edited, refusal

from mixjt.cli.app import main

DEMO = Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml"
WIDTH = 100


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """Text on the terminal and folder of files, and the record, of one run at 80 kPa and 10 °C on the bench."""
