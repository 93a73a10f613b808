#!/usr/bin/env bash
# The README's two commands on a Debian that has nothing but python3, venv and pip.
# Run as root: tests/fresh_machine.sh [SUITE] ; needs debootstrap and a Debian mirror.
set -euo pipefail
cd "$(dirname "$0")/.."
suite=${1:-bookworm}
root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
debootstrap --variant=minbase --include=python3,python3-venv,python3-pip,ca-certificates \
    "$suite" "$root" >"$root.log"
rm "$root.log"
cp /etc/resolv.conf "$root/etc/"
# The machine's own certificates and package index, where it has any.
cp -r /etc/ssl/certs "$root/etc/ssl/" 2>/dev/null || true
for file in /etc/pip.conf; do [ -e "$file" ] && cp "$file" "$root/etc/"; done
mkdir "$root/lapping" "$root/empty"
git archive HEAD | tar -x -C "$root/lapping"
inside() { chroot "$root" /usr/bin/env bash -euc "$1"; }
inside 'python3 --version; cd /lapping
python3 -m venv .venv && .venv/bin/python -m pip install --quiet . && .venv/bin/lapping demo
cd /empty && /lapping/.venv/bin/lapping --version && /lapping/.venv/bin/lapping demo --copy samples'
inside 'cd /lapping
.venv/bin/python -m pip install --quiet ".[test]" && .venv/bin/python -m pytest -q'
