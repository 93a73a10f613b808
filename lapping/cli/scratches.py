"""The command `scratches`: a close-up in, gone or still there out."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from lapping.cli.log_place import the_log
from lapping.directions import parse_direction_deg
from lapping.errors import BadInput
from lapping.log.photos import keep_photo, photos_of
from lapping.log.planes import face_label, the_face
from lapping.photo.reading import read_photo
from lapping.photo.scratches import TOE_DEG, ScratchCheck, Toe, check_scratches
from lapping.words.scratches import scratch_json, scratch_report


def look_closely(
    closeup: Path,
    *,
    previous: str | None,
    this: str | None,
    toe: str | None,
    face: str | None,
    as_json: bool,
    log: str | None,
) -> str:
    """Answer for one photo; keep it if a face in the log is named."""
    if previous is None or this is None:
        message = (
            "say how the strokes ran, so that their scratches can be told apart: "
            "--previous-direction across --this-direction along"
        )
        raise BadInput(message)
    if toe is None:
        message = (
            f"say where the toe lies in the photo: --toe {', '.join(TOE_DEG)}; a "
            "quarter turn would take the last grit's scratches for this one's"
        )
        raise BadInput(message)
    if toe not in TOE_DEG:
        message = f"--toe must be {', '.join(TOE_DEG)} (got '{toe}')"
        raise BadInput(message)
    if face is None:
        found = _check(closeup, previous, this, toe)
    else:
        with the_log(log) as opened:
            entry = the_face(opened, face)
            found = _check(closeup, previous, this, toe)
            label = face_label(opened, entry)
            # Beside the answer and not in it, as the log's own line is.
            if found.closeup:
                already = {photo.root for photo in photos_of(opened, entry)}
                kept = keep_photo(
                    opened,
                    entry,
                    closeup,
                    shows="scratches",
                    toe=toe,
                    previous_direction=previous.strip(),
                    this_direction=this.strip(),
                )
                again = " already" if kept.root in already else ""
                print(f"{kept.id}  {label}: photo kept{again}", file=sys.stderr)
            else:
                print(f"{label}: photo not kept, it shows nothing", file=sys.stderr)
    if as_json:
        said = scratch_json(found, closeup.name, toe)
        return json.dumps(said, ensure_ascii=False, indent=1, allow_nan=False)
    return scratch_report(found, toe)


def _check(closeup: Path, previous: str, this: str, toe: Toe) -> ScratchCheck:
    degrees = [parse_direction_deg(text) for text in (previous, this)]
    picture = read_photo(closeup)
    try:
        return check_scratches(picture.pixels, degrees[0], degrees[1], toe=toe)
    except BadInput as bad:
        raise BadInput([f"{closeup}: {one}" for one in bad.mistakes]) from None
