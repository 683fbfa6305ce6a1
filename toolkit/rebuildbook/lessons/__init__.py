"""Lessons: cases from the tile works, exercises that check themselves, marking, hand-outs.

``numbers`` draws each learner's values, ``exercise`` and ``lesson`` are what an author fills in,
``judge`` compares an answer, ``notebook`` shows it, ``submission`` reads notebooks sent in and
``marking`` works their marks out afresh, ``handout`` sets the paper.

How an author writes an exercise:

- ``draws`` names the values to draw from; ``ask``, ``right``, ``why`` and the slips take the
  learner's ``Numbers`` and read them as ``n["torque"]`` or ``n.word("side")``. Draws for which a
  slip lies within tolerance of the right answer or of another slip are drawn again, so give
  enough values; ``sound`` leaves out those that make no sense together.
- ``right`` and the slips are SI floats of ``dimension``, or options. A slip gives None where the
  numbers leave no room for it. Where the question is to convert, name the unit in ``only``: else
  the question's own figure, with its unit, would be right.
- ``ask`` gives plain text; a line break is kept, an empty line begins a paragraph. Options stand
  below the question by themselves. They are answered by letter or in words; those of three signs
  or fewer are their own letters, and an order of such has to name them in ``ask``.
- Numbers handed out must not change: a new draw or another id gives everyone new ones.

Beyond what was first planned: ``only``, ``reference``, ``also``, ``sound`` and ``hint`` of an
exercise. The marks of a notebook are summed by notebook, and a learner's over lessons only where
no two notebooks of one lesson disagree, as nobody can tell which of two is the learner's own.
"""

from rebuildbook.lessons.notebook import OpenLesson, open_lesson

__all__ = ["OpenLesson", "open_lesson"]
