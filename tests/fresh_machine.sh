#!/usr/bin/env bash
# The README's two commands on a Debian that has nothing but python3, venv and pip.
# Run as root: tests/fresh_machine.sh [SUITE] ; needs debootstrap and a Debian mirror.
# The folder is what git has at HEAD, not what is being worked on.
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

# What every running machine has: processes, terminals, shared memory. They are mounted
# for the command alone, so that nothing of this machine is there to be deleted after.
inside() {
    unshare --mount --propagation private bash -euc '
        mount -t proc proc "$0/proc"
        mount -t devpts -o newinstance,ptmxmode=0666 devpts "$0/dev/pts"
        mkdir -p "$0/dev/shm" && mount -t tmpfs tmpfs "$0/dev/shm"
        exec chroot "$0" /usr/bin/env HOME=/root bash -euc "$1"' "$root" "$1"
}
echo "== $suite: the README's first command, and the program in an empty folder"
inside 'python3 --version; cd /lapping
python3 -m venv .venv && .venv/bin/python -m pip install --quiet . && .venv/bin/lapping demo
cd /empty && /lapping/.venv/bin/lapping --version && /lapping/.venv/bin/lapping demo --copy samples'
echo "== $suite: the README's second command"
inside 'cd /lapping
.venv/bin/python -m pip install --quiet ".[test]" && .venv/bin/python -m pytest'
