"""The README's first model runs and prints what the README says."""

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent


def test_first_model_prints_what_the_readme_shows():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    code, shown = re.search(r"```python\n(.*?)```\s+```text\n(.*?)```", readme, re.DOTALL).groups()
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    strip = lambda text: [line.rstrip() for line in text.strip().splitlines()]  # noqa: E731
    assert strip(done.stdout) == strip(shown)


def test_readme_opens_with_the_job_and_carries_the_caution():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert readme.splitlines()[2].startswith("A structural engineer at a works that rebuilds old vehicle bodies")
    assert "licensed engineer's judgement" in readme
