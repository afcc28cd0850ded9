"""Verify a sealed record or an evidence pack without Sitetrack: `python offline_verify.py record.json`.

Standard library only, so that whoever is handed the JSON can read this page and trust it. Canonical JSON is RFC 8785.
"""

import hashlib
import json
import sys
from decimal import Decimal
from pathlib import Path


def canonical(value):
    if isinstance(value, dict):
        names = sorted(value, key=lambda name: name.encode("utf-16-be"))
        return "{" + ",".join(f"{canonical(name)}:{canonical(value[name])}" for name in names) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(canonical, value)) + "]"
    if not isinstance(value, float):
        return json.dumps(value, ensure_ascii=False)
    if value == 0 or 1e-6 <= abs(value) < 1e21:
        text = format(Decimal(repr(value)), "f").removesuffix(".0")
        return "0" if value == 0 else text
    digits, _, power = repr(value).partition("e")
    return f"{digits}e{int(power):+d}"


def faults(record):
    before = None
    for entry in record["entries"]:
        head, name = entry["heading"], f"entry {entry['heading']['n']}"
        if before and (head["digest_before"], head["n"]) != (before["digest"], before["heading"]["n"] + 1):
            yield f"{name} does not follow the one before it"
        for what, value, digest in (
            ("heading", head, entry["digest"]),
            ("content", entry.get("content"), head["content_digest"]),
        ):
            if value is not None and hashlib.sha256(canonical(value).encode()).hexdigest() != digest:
                yield f"{name}: its {what} was altered"
        before = entry
    if before and before["digest"] != record["about"]["end"]["digest"]:
        yield "the end of the chain is not the one stated"


if __name__ == "__main__":
    found = list(faults(json.loads(Path(sys.argv[1]).read_text("utf-8"))))
    sys.stdout.write("\n".join(found or ["Whole. Compare its end with an anchor that was mailed out."]) + "\n")
    sys.exit(bool(found))
