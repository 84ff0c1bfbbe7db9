"""What the service leaves alone until somebody needs it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

START = """
import sys
from api.app import create_app
from api.settings import Settings
create_app(Settings(database=":memory:"))
print(sorted(name for name in ("CoolProp", "scipy.optimize", "matplotlib", "pandas") if name in sys.modules))
"""


def test_the_service_starts_without_what_few_requests_need() -> None:
    root = Path(__file__).parents[2]
    said = subprocess.run([sys.executable, "-c", START], cwd=root, capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "[]"
