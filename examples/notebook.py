"""A first look from Python, cell by cell: open it in an editor or notebook that knows ``# %%``, or run it as it stands.

What stands last in a cell is shown: a score, a report, a figure as tables, an excerpt as music.
"""

# %% A score, and what is in it
import annotator

piece = annotator.example("sonatina-at-the-open-gate")
annotator.read(piece)

# %% Its figures; a path will do
report = annotator.find_figures(piece)
report

# %% One figure: the bold notes must be read, the others follow
name, figure = report.figures[0]
figure

# %% The right hand of a few bars; bars and hands are said as on the command line
some = annotator.Options(bars="1-4,9-12", hand="right", kinds="runs,in thirds")
annotator.find_figures(piece, some)

# %% As music
annotator.excerpt(piece, bars="1-4", hand="both")

# %% Copies, into a folder: marked, and plain again
annotator.mark(piece, "copies", formats="musicxml")
annotator.plain("copies/sonatina-at-the-open-gate-marked.musicxml")

# %% What to practise: of a whole folder, the easiest first
library = annotator.survey(piece.parent, easiest=True)
for score in library.scores:
    print(f"{score.effort:5.1f}  {score.measures.title}: {', '.join(score.measures.drills)}")
