#!/usr/bin/env bash
# The whole suite on the oldest version of each package that pyproject.toml allows.
# Run: tests/oldest_versions.sh [PYTHON [FOLDER]] ; PYTHON is the oldest that is allowed,
# and FOLDER is where the environment is made and kept, else it is thrown away.
set -euo pipefail
cd "$(dirname "$0")/.."
python=${1:-python3.11}
if [ -n "${2:-}" ]; then
    work=$2
else
    work=$(mktemp -d)
    trap 'rm -rf "$work"' EXIT
fi
export OPENBLAS_NUM_THREADS=1
"$python" -m venv "$work"
py="$work/bin/python"
"$py" - >"$work/oldest.txt" <<'PYTHON'
import re
import tomllib
from pathlib import Path

project = tomllib.loads(Path("pyproject.toml").read_text())["project"]
extras = project["optional-dependencies"]
for wanted in project["dependencies"] + extras["phone"] + extras["test"]:
    if wanted.startswith("lapping["):
        continue
    name, oldest = re.match(r"([\w-]+)>=([\d.]+)", wanted).groups()
    print(f"{name}=={oldest}")
PYTHON
cat "$work/oldest.txt"
"$py" -m pip install --quiet --upgrade pip
"$py" -m pip install --quiet -r "$work/oldest.txt" .
"$py" -m pip check
# Old packages use what Python has since called old; that is theirs to mend.
"$py" -m pytest -W ignore::DeprecationWarning -W ignore::PendingDeprecationWarning
