"""The head of the worksheet: which job, what stands against it, and where it came from."""

from __future__ import annotations

from collections.abc import Sequence

from rebuildbook import __version__
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.model import LEVELS, Block, Finding, Note, Section, Table

_WORDS = {
    "hold": "Do not go on. At least one hold is open.",
    "query": "Go on only when the queries are answered.",
    "clear": "Nothing stands against this job on what the sheets say.",
}


def findings_first(context: Context, sections: Sequence[Section]) -> Section:
    """Gather what stands against the job: holds, then queries; the clear ones are counted."""
    found = [finding for section in sections for finding in section.findings()]
    by_level = {level: [f for f in found if f.level == level] for level in LEVELS}
    worst = next((level for level in LEVELS if by_level[level]), "clear")
    counts = (
        f"{_count(by_level['hold'], 'hold')}, {_count(by_level['query'], 'query')}, "
        f"{len(by_level['clear'])} clear. {_WORDS[worst]}"
    )
    blocks: list[Block] = [Note(counts), *by_level["hold"], *by_level["query"]]
    if context.case.overrides:
        blocks.append(
            Note(
                "This sheet is a what-if. Changed from the files: "
                + "; ".join(context.case.overrides)
            )
        )
    return Section("findings", "Findings", tuple(blocks))


def _count(findings: list[Finding], word: str) -> str:
    plural = {"hold": "holds", "query": "queries"}[word]
    return f"{len(findings)} {word if len(findings) == 1 else plural}"


def sign_off(context: Context) -> Section:
    """Boxes for signatures, deviations so far, and the files that the sheet stands on."""
    blocks: list[Block] = []
    if context.job.deviations:
        rows = tuple((d.what, d.accepted_by or "") for d in context.job.deviations)
        blocks.append(Table("Deviations", ("Departure from the plan", "Accepted by"), rows))
    signed = [(s.role, s.name, s.on.isoformat(), "") for s in context.job.sign_off]
    boxes = [("planned", "", "", ""), ("done", "", "", ""), ("checked", "", "", "")]
    blocks.append(
        Table("Signatures", ("Role", "Name", "Date", "Signature"), tuple(signed or boxes))
    )
    sheets = tuple(
        (kind, name, digest[:16]) for kind, (name, digest) in sorted(context.case.files.items())
    )
    note = f"Made with rebuildbook {__version__}. A changed file has another fingerprint."
    blocks.append(Table("What this sheet stands on", ("Sheet", "File", "SHA-256"), sheets, note))
    blocks.append(Note("Follow the maker's manual; local codes and licensed practice prevail."))
    return Section("sign-off", "Sign-off", tuple(blocks))
