"""Measures made up for tests that need no score behind them."""

from __future__ import annotations

from annotator.products.survey.measures import Drilled, HandMeasures, KeyUsed, Measured, Measures, Survey

HAND = HandMeasures(notes=50, compass=24, reach=12, ledger_lines=2)


def piece(
    path: str,
    *,
    effort: float = 30.0,
    notes: int = 100,
    to_read: int = 60,
    bars: int = 16,
    composer: str = "",
    title: str = "",
    **kinds: int,
) -> Measured:
    """Return a score; ``kinds`` are notes by kind of figure, ``scale_run=40``."""
    drilled = [Drilled(kind.replace("_", "-"), 1, count) for kind, count in kinds.items()]
    measures = Measures(
        title=title or path,
        composer=composer,
        bars=bars,
        beats=4.0 * bars,
        notes=notes,
        to_read=to_read,
        odd=3,
        signs=5,
        signature=0,
        keys=(KeyUsed("Bb", False, bars),),
        kinds=tuple(sorted(drilled, key=lambda one: -one.notes)),
        right=HAND,
        left=HAND,
        rhythm=1.0,
        thickness=1.2,
        voices=0.0,
    )
    return Measured(path, f"digest of {path}", measures, effort)


def library(count: int = 40) -> Survey:
    """Return a library of pieces that differ in everything."""
    kinds = ("scale_run", "arpeggio", "alberti_bass", "trill", "sequence")
    return Survey(
        tuple(
            piece(
                f"/music/{number:03}.xml",
                effort=float(number * 37 % 100),
                to_read=20 + number * 13 % 80,
                composer=f"Composer {number % 7}",
                **{kinds[number % 5]: 20 + number % 30},
            )
            for number in range(count)
        )
    )
