"""Command: ``knobpack VERB``, for players; ``python -m knobpack`` is the same.

* **A file comes first, then what is done with it**; several questions or edits follow one another
  with ``then``, so one search, one answer and one sheet serve all of them. No file means a verb,
  and no verb is cut short, so verbs can be added.
* **Every verb ends in an ``Outcome``**, from which every output is made, so that each can be had
  of each verb: of a request what is laid out, of a setup what it is or becomes. All files are
  made before the first is written, and those that were not there are gone again where one cannot
  be.
* **Help is text** (``verbs.py``): what a verb takes is parsed from the lines that help shows.
* **Nothing heavy is imported before it is needed.** In processor seconds, bare Python taking 1 and
  byte code being there, as after an install: help 3, a file that is missing, is no JSON or has a
  key or value that will not do 3.3. It takes 13 where words are made first, which are attrs
  classes: of a name that names nothing, or a table with a heading or cell that will not do.
  Without byte code help takes 4 to 5.
* **Ten lines first**: points, proofs, where everything went, audit and jumps come with
  ``--details``. From 40 columns on nothing is wider than the terminal; below 60 each row of a
  table is a record.
* A knob whose name is but a number is told as *knob 6* (``words/names.py``).
"""
