"""Opening a building model (IFC, as STEP text of ISO 10303-21) with care.

The parser behind opens a file that was cut off, and shows the doors it found; so the end of the text is looked at
first, and the doors written in the text are counted and compared with the doors that were read.
"""

import re
import shutil
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import ifcopenshell
from django.utils.translation import gettext as _

from openings.intake.archives import BoundedArchive
from openings.intake.kinds import STEP_MAGIC, Kind
from openings.intake.limits import MIB, MODEL_BYTES, MODEL_DOORS
from openings.intake.refusals import FileRefused

END_MARK = b"END-ISO-10303-21"
TAIL_BYTES = 4096
_DOOR = re.compile(rb"=\s*IFCDOOR(?:STANDARDCASE)?\s*\(", re.IGNORECASE)
# Long enough for any way of writing the pattern above across two blocks.
OVERLAP = 64


@contextmanager
def opened_model(path: Path, kind: Kind, name: str) -> Iterator[ifcopenshell.file]:
    """Open the model at `path`, unpacked first where it came in a zip; raises FileRefused."""
    with TemporaryDirectory(prefix="model-") as folder:
        plain = Path(folder) / "model.ifc"
        if kind is Kind.MODEL_ZIP:
            _unpack(path, plain, name)
        else:
            # The parser chooses its way by the ending of the name, so it is given a plain one.
            shutil.copyfile(path, plain)
        written = _doors_written(plain, name)
        model = _parse(plain, name)
        read = len(model.by_type("IfcDoor"))
        if read < written:
            raise FileRefused(
                _("%(name)s is damaged: its text lists %(n)d doors, but only %(read)d can be read. Export it again.")
                % {"name": name, "n": written, "read": read}
            )
        yield model


def _unpack(path: Path, plain: Path, name: str) -> None:
    with BoundedArchive(path, name, most=MODEL_BYTES) as archive:
        models = [part for part in archive.parts if part.lower().endswith(".ifc")]
        if len(models) != 1:
            raise FileRefused(
                _("%(name)s holds %(n)d models; one was expected. Send them one at a time.")
                % {"name": name, "n": len(models)}
            )
        with plain.open("wb") as target, closing(archive.chunks(models[0])) as chunks:
            target.writelines(chunks)


def _doors_written(plain: Path, name: str) -> int:
    """Check beginning, size and end of the text, and count the doors it writes."""
    size = plain.stat().st_size
    if size > MODEL_BYTES:
        raise FileRefused(
            _(
                "%(name)s is a model of %(size)d MiB; at most %(most)d MiB is read. "
                "Export the architect's doors, walls and floors alone."
            )
            % {"name": name, "size": size // MIB, "most": MODEL_BYTES // MIB}
        )
    doors, before = 0, b""
    with plain.open("rb") as file:
        head = file.read(MIB)
        if not head.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(STEP_MAGIC):
            told = _("%(name)s is no building model: its text does not start with %(mark)s.")
            raise FileRefused(told % {"name": name, "mark": STEP_MAGIC.decode()})
        file.seek(0)
        while block := file.read(MIB):
            text = before + block
            doors += sum(1 for found in _DOOR.finditer(text) if found.end() > len(before))
            before = text[-OVERLAP:]
        file.seek(max(0, size - TAIL_BYTES))
        tail = file.read()
    if END_MARK not in tail:
        raise FileRefused(
            _(
                "%(name)s is cut off: its last line should be %(mark)s; and is not. "
                "Doors would be missing without a word. Copy or export it again."
            )
            % {"name": name, "mark": END_MARK.decode()}
        )
    if doors > MODEL_DOORS:
        told = _("%(name)s lists %(n)s doors; at most %(most)s are taken. Export by building.")
        raise FileRefused(told % {"name": name, "n": f"{doors:,}", "most": f"{MODEL_DOORS:,}"})
    return doors


def _parse(plain: Path, name: str) -> ifcopenshell.file:
    try:
        model = ifcopenshell.open(plain)
    except (OSError, RuntimeError, ValueError, LookupError, NotImplementedError, ifcopenshell.Error) as broken:
        told = _("%(name)s can't be read as a building model. Export it again as IFC2X3 or IFC4.")
        raise FileRefused(told % {"name": name}) from broken
    if not isinstance(model, ifcopenshell.file):
        raise FileRefused(_("%(name)s is no IFC text file. Export it again as IFC2X3 or IFC4.") % {"name": name})
    return model
