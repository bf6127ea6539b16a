"""The rules of RFC 8493 (The BagIt File Packaging Format, 2018), written from its text: a second check of every bag."""

import hashlib
import re
from pathlib import Path

NAME = re.compile(r"(tag)?manifest-([a-z0-9]+)\.txt")
LINE = re.compile(r"([0-9a-fA-F]+)[ \t]+\*?(.+)")


def broken_rules(bag: Path) -> list[str]:
    """Section and rule for each that a bag breaks; empty for a complete and valid bag."""
    files = {path.relative_to(bag).as_posix(): path for path in bag.rglob("*") if path.is_file()}
    manifests = {name: match for name in files if (match := NAME.fullmatch(name))}
    broken = [*_declaration(bag), *_oxum(bag, files)]
    if not (bag / "data").is_dir():
        broken.append("2.1.2: no payload directory")
    if not any(match[1] is None for match in manifests.values()):
        broken.append("2.1.3: no payload manifest")
    for name, match in manifests.items():
        entries, wrong = _entries(files[name], name)
        broken += wrong
        payload = {each for each in files if each.startswith("data/")}
        if match[1] is None and set(entries) != payload:
            broken.append(f"3: {name} does not list the payload: {sorted(set(entries) ^ payload)}")
        if match[1] and any(each.startswith(("data/", "tagmanifest-")) for each in entries):
            broken.append(f"2.2.1: {name} lists payload or tag manifests")
        if match[1] and not {each for each in manifests if not each.startswith("tag")} <= set(entries):
            broken.append(f"2.2.1: {name} does not list the payload manifests")
        for each, digest in entries.items():
            if each not in files:
                broken.append(f"3: {each} is listed and not there")
            elif hashlib.new(match[2], files[each].read_bytes()).hexdigest() != digest.lower():
                broken.append(f"3: {each} does not have its checksum")
    return broken


def _declaration(bag: Path) -> list[str]:
    try:
        declared = (bag / "bagit.txt").read_bytes()
    except FileNotFoundError:
        return ["2.1.1: no bagit.txt"]
    if declared != b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n":
        return ["2.1.1: the declaration is not that of version 1.0 in UTF-8"]
    return []


def _oxum(bag: Path, files: dict[str, Path]) -> list[str]:
    payload = [path for name, path in files.items() if name.startswith("data/")]
    stated = re.search(
        r"^Payload-Oxum: (\d+)\.(\d+)$", (bag / "bag-info.txt").read_text(encoding="utf-8"), re.MULTILINE
    )
    if stated is None or (int(stated[1]), int(stated[2])) != (sum(p.stat().st_size for p in payload), len(payload)):
        return ["2.2.2: Payload-Oxum is not the payload's"]
    return []


def _entries(manifest: Path, name: str) -> tuple[dict[str, str], list[str]]:
    entries: dict[str, str] = {}
    broken = []
    for line in manifest.read_text(encoding="utf-8").splitlines():
        match = LINE.fullmatch(line)
        if match is None:
            broken.append(f"2.1.3: {name}: {line!r} is no checksum and path")
            continue
        path = match[2].replace("%0A", "\n").replace("%0D", "\r").replace("%25", "%")
        if path in entries:
            broken.append(f"2.1.3: {name} lists {path} twice")
        if path.startswith(("/", "~", "./")) or ".." in path.split("/"):
            broken.append(f"5.1: {name}: {path} leads out of the bag")
        entries[path] = match[1]
    return entries, broken
