"""Measures made up for tests that need no score behind them."""

from __future__ import annotations

from annotator.products.survey.measures import Drilled, HandMeasures, KeyUsed, Measured, Measures, Rhythm, Survey, Texture

HAND = HandMeasures(notes=50, moments=40, lowest=48, highest=72, reach=12, moved=2.0, leaps=1.0, ledger_lines=2)


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
    drilled = [Drilled(kind.replace("_", "-"), 1, count, count // 2) for kind, count in kinds.items()]
    measures = Measures(
        title=title or path,
        composer=composer,
        bars=bars,
        beats=4.0 * bars,
        notes=notes,
        to_read=to_read,
        odd=3,
        signs=5,
        signatures=(0,),
        keys=(KeyUsed("Bb", False, bars),),
        kinds=tuple(sorted(drilled, key=lambda one: -one.notes)),
        right=HAND,
        left=HAND,
        rhythm=Rhythm(3, 1.0, 0.0, 0.0, 50.0),
        texture=Texture(10.0, 5.0, 1.2, 0.0, 0),
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
