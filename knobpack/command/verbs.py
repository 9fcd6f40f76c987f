"""Verbs: what the command can do, what each verb takes, and examples that run as they stand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from knobpack.command.takes import Takes, Verb, takes_of
from knobpack.questions import rows_of_help

SHARED: Final[Mapping[str, tuple[Takes, ...]]] = {
    "how long to search": takes_of("""
  --time-limit SECONDS  stop after so long, with the best found
  --effort EFFORT  stop each search after so much effort, the same on every machine (10)
"""),
    "what to write; - writes to standard output, instead of the text": takes_of("""
  --json FILE  all that is told, for other programs
  --setup FILE  the result as a setup, to go on with
  --sheet FILE  the patch sheet: .html (to tick off, or to print), .md or .txt
  --table FILE  the result as a table, for a spreadsheet: .csv
  --picture FILE  the panel as a picture: .svg, .png or .pdf
  --midi FOLDER  a Standard MIDI File for each snapshot, which sweeps the master up and down
  --notes  with --midi: hold a key of each voice, so that something sounds
  --channel CHANNEL  with --midi: send all on this MIDI channel, 1 to 16
  --graph FILE  the layout as a network of facts: .graphml or .json
  --page FILE  the layout with the reasons for it, or a show to play from, as a page: .html
  --in-place  write the result over the setup that was given first
  --force  replace files that are there already, and write what leaves out something essential
"""),
    "what to show": takes_of("""
  --details  all of it, points and proofs too
  --quiet  nothing: only files and errors
"""),
}
"""What means the same after every verb."""

QUESTIONS: Final = takes_of(f"""
{rows_of_help()}
  without PART [PART]  what would change without a knob, voice, destination, snapshot or rule (a
      rule as its text, or its number from 1); rule 2 or knob 2 where a name alone could be either
  more-knobs NUMBER  what would change with so many knobs more
""")
"""What can be asked of a layout, a request or a setup."""

SHOW_QUESTIONS: Final = takes_of("""
  why-elsewhere SONG NAME [KNOB]  of a set list: where it is in each song, and what it would
      cost to have it on that knob in this song (the knob it is on in most others)
  worth-freeing  of a set list: what laying out anew would save, for each song by itself
  odd-songs  of a set list: without which song there would be the least to relearn
""")
"""What can be asked of a show."""

MEANT: Final[Mapping[str, str]] = {
    "--out": "--setup",
    "--output": "--setup",
    "--voice": "--only",
    "-o": "--setup",
    "back": "take-back",
    "break": "out-of-use",
    "broken": "out-of-use",
    "budget": "knob-budget",
    "clashes": "every-clash",
    "delete": "away",
    "elsewhere": "why-elsewhere",
    "everything": "explain",
    "insert": "songs",
    "mended": "back-in-use",
    "move": "on",
    "remove": "away",
    "repaired": "back-in-use",
    "separate": "part",
    "split": "part",
    "ties": "best-layouts",
    "undo": "take-back",
    "worth": "price-of-demands",
}
"""Words that other programs have, and which of these is likely meant."""

EDITS: Final = takes_of("""
  own NAME ...  a knob of its own; several names share it
  on KNOB NAME ...  put this on that knob
  swap KNOB KNOB  let two knobs change places
  part NAME ...  part these from each other; of one voice, group or knob, all that is in it
  join KNOB KNOB ...  join what these knobs drive on one of them
  out-of-use KNOB  it is broken: nothing is on it from now on
  back-in-use KNOB  it is mended: what moved because of it goes back
  travel KNOB END END  let this knob go from one position to the other
  away NAME ...  take voices, sources or destinations away; a knob is cleared
  take-back [EDIT ...]  take an edit back: the last one, or that of a number or a name
""")
"""What can be edited."""

_SETUP: Final = "\n  FILE  a setup, its table, or a request, laid out first; - is standard input\n"
_SETUPS: Final = _SETUP.replace("FILE", "FILE ...")

_OF_SETUPS: Final = frozenset(
    {"--setup", "--sheet", "--table", "--midi", "--notes", "--channel", "--graph", "--in-place"}
)
_OF_RESULTS: Final = _OF_SETUPS | {"--picture", "--page"}

VERBS: Final[Mapping[str, Verb]] = {
    "demo": Verb(
        "start",
        "show an evening from the setups to a broken knob, or write its files",
        "start:demo",
        takes_of("""
  [FOLDER]  write a base, two sources with faults, and a late source to this folder
  --request FILE  write a request of six voices, as a start for your own
  --list FILE  write the controller list of an instrument, to try lists on
  --force  replace files that are there already
  --quiet  show nothing: only files and errors
"""),
        (
            "knobpack demo",
            "knobpack demo demo",
            "knobpack demo --request mine.json --list pulse.json",
        ),
        shared=False,
    ),
    "combine": Verb(
        "lay out",
        "bring voices of sources to a base, and lay everything out",
        "combine:combining",
        takes_of("""
  BASE SOURCE ...  files; the base is passed over among the sources, so they may be *.json
  --only VOICE ...  bring this voice of the sources and no other, but for those named likewise;
      'SETUP: VOICE' where more than one source has it
  --free NAME ...  let the routes of this voice, group or destination of the base make room
  --clear KNOB ...  take this knob of the base, which does nothing: its routes make room
  --take NUMBER ...  take the offer of this number; given once more, that of the list that is
      shown then
  --again  bring a source once more that is there already
  --unreached  find a knob also for what no knob of its source drove
  --name TEXT  what the result is called; without it, as the base is
"""),
        (
            "knobpack combine demo/base.json demo/organ.json demo/bass.json --setup tonight.json",
            "knobpack combine tonight.json demo/late.json --setup late.json --sheet late.html",
        ),
    ),
    "allocate": Verb(
        "lay out",
        "lay out a request, proven best; a setup is laid out anew",
        "lay_out:allocating",
        takes_of("  FILE  a request or a setup; - reads standard input"),
        ("knobpack allocate mine.json", "knobpack allocate mine.json --details --setup six.json"),
    ),
    "move": Verb(
        "lay out",
        "take a setup to another panel, or back home",
        "edit:moving",
        takes_of(f"""{_SETUP}  [PANEL]  a file of that panel; names and places stay if it has them
  --home  back to the panel that it comes from
"""),
        (
            "knobpack move tonight.json demo/organ.json --setup away.json",
            "knobpack move away.json --home --setup home.json",
        ),
    ),
    "edit": Verb(
        "change",
        "change one thing of a setup in use, and move as little as can be",
        "edit:editing",
        takes_of(
            f"{_SETUP}  EDIT ...  what to change, see above; then another, after the word then"
        ),
        (
            "knobpack edit tonight.json own Bass/drive --setup edited.json --sheet edited.html",
            "knobpack edit edited.json out-of-use K2 then swap K1 K3 --setup broken.json",
        ),
        EDITS,
        "An EDIT is one of these; it holds through the later ones. A NAME is a voice/destination, "
        "a voice or a group; a knob stands for all that it drives. (A voice more: knobpack combine "
        "FILE SOURCE --only VOICE.)",
    ),
    "songs": Verb(
        "lay out",
        "lay out the songs of a show, so that the hand finds the same thing on the same knob",
        "songs:playing",
        takes_of("""
  FILE ...  a set list and songs to put in, or a request or setup for each song, in playing
      order; setups stay as they are unless --free names them. A SONG is called as its setup;
      as its file, if it is a request or two setups have one name
  --new-after SONG  what is put into a set list, or moved, comes after this song (the last one)
  --move SONG ...  play this song of the set list there; may be given several times
  --drop SONG ...  leave this song out; may be given several times
  --free SONG ...  lay the setup of this song out anew; may be given several times
  --free-all  lay the setup of every song out anew
  --break SONG ...  there is a break after this song; may be given several times
  --panel FILE  lay the show out on the panel of this file, such as a spare instrument
  --name TEXT  what the show is called (Tonight)
  --into FOLDER  write to this folder: a set list, setups, patch sheets, a page to play from
"""),
        (
            "knobpack songs tonight.json late.json",
            "knobpack songs tonight.json late.json --free late --into friday",
            "knobpack songs friday/show.json home.json --new-after late --details",
            "knobpack songs friday/show.json --panel demo/organ.json --into spare",
        ),
        silent=_OF_SETUPS,
    ),
    "ask": Verb(
        "look",
        "ask why it is so, what it costs, and what would be otherwise",
        "ask:asking",
        takes_of("""
  FILE  a request, laid out first, or a setup or a set list as it is; - reads standard input; of a
      setup what came last is asked about as it was combined, and the rest stays; where nothing
      came, what is asked about may move
  QUESTION ...  what to ask, see above; then another, after the word then
  --solve  answer also what takes solving again: what would place what is left out, the best
      layout that has it so, what could be on another knob
"""),
        (
            "knobpack ask mine.json why Strings/level",
            "knobpack ask mine.json knob-budget then why-not Strings/level K1",
            "knobpack ask friday/show.json worth-freeing",
        ),
        (*QUESTIONS, *SHOW_QUESTIONS),
        "A QUESTION is one of these. A NAME is a voice/destination.",
    ),
    "show": Verb(
        "look",
        "tell what a setup holds, as it stands, and which edits can be taken back",
        "look:showing",
        takes_of(_SETUP),
        ("knobpack show tonight.json",),
        silent=_OF_RESULTS,
    ),
    "audit": Verb(
        "look",
        "tell what each knob does, which are dead, and why",
        "look:auditing",
        takes_of(_SETUPS),
        ("knobpack audit demo/base.json demo/organ.json",),
        silent=_OF_RESULTS,
    ),
    "sweep": Verb(
        "look",
        "tell what the master moves in each snapshot",
        "look:sweeping",
        takes_of(f"{_SETUP}  [SNAPSHOT ...]  in these alone"),
        ("knobpack sweep tonight.json", "knobpack sweep tonight.json all"),
        silent=_OF_RESULTS,
    ),
    "jumps": Verb(
        "look",
        "tell what jumps when another snapshot is recalled, or from song to song, the worst first",
        "look:jumping",
        takes_of("  FILE  a setup, its table, a request or a set list; - is standard input"),
        ("knobpack jumps tonight.json", "knobpack jumps friday/show.json"),
        silent=_OF_RESULTS,
    ),
    "sheet": Verb(
        "write",
        "tell what to program, step by step: from one setup to another, or from nothing",
        "look:programming",
        takes_of(
            f"{_SETUP}  [AFTER]  a file of what it is to become; without it, FILE from nothing"
        ),
        (
            "knobpack sheet demo/base.json tonight.json",
            "knobpack sheet tonight.json --sheet all.html",
        ),
    ),
    "table": Verb(
        "write",
        "show a setup as a table, or take what was changed in one back",
        "look:tabling",
        takes_of(f"{_SETUP}  [TABLE]  a .csv file: FILE becomes what it says"),
        (
            "knobpack table tonight.json --table tonight.csv",
            "knobpack table tonight.json tonight.csv --setup changed.json --sheet changed.html",
        ),
    ),
    "midi": Verb(
        "write",
        "choose a controller number for each knob, and write files to hear it by",
        "look:sending",
        takes_of(_SETUP),
        ("knobpack midi tonight.json", "knobpack midi tonight.json --midi midi --notes"),
    ),
    "listen": Verb(
        "change",
        "put what knobs did in a recorded MIDI file into a setup",
        "lay_out:listening",
        takes_of(f"""{_SETUP}  RECORDING  a Standard MIDI File, recorded while knobs were turned
  --into SNAPSHOT  store in this snapshot where knobs were left; without it, each knob gets the
      travel over which it was turned
"""),
        (
            "knobpack listen tonight.json 'midi/01 all.mid' --setup heard.json --sheet heard.html",
            "knobpack listen tonight.json 'midi/01 all.mid' --into organ",
        ),
    ),
    "lists": Verb(
        "lay out",
        "lay out what instruments say of themselves: controller lists of MIDI-CI",
        "lay_out:reading_lists",
        takes_of("""
  FILE ...  controller lists (M2-117-UM); a voice is called as its file
  --panel PANEL  a file of the panel; without it, eight knobs in a row
  --receives CHANNEL  where the voice of a list receives that does not say it (1)
"""),
        ("knobpack lists pulse.json --setup alone.json",),
    ),
    "draw": Verb(
        "write",
        "draw a setup",
        "look:drawing",
        takes_of(f"""{_SETUP}  PICTURE  the file of the picture: .svg, .png or .pdf
  --view VIEW  what to draw: panel, routes or snapshots (panel)
"""),
        (
            "knobpack draw tonight.json panel.svg",
            "knobpack draw tonight.json routes.png --view routes",
        ),
    ),
    "schema": Verb(
        "start",
        "print the JSON Schema of the files",
        "start:printing_schema",
        (),
        ("knobpack schema",),
        shared=False,
    ),
    "completion": Verb(
        "start",
        "print what lets a shell complete verbs, options and files",
        "start:completion",
        takes_of("  SHELL  bash, zsh or another that shtab knows"),
        ("knobpack completion bash",),
        shared=False,
    ),
}
"""All verbs, in the order in which one meets them."""


def told_elsewhere(word: str) -> Sequence[str]:
    """How a question or an edit is asked for, where it was taken for a verb."""
    return [
        f"knobpack {verb} FILE {each.usage}"
        for verb, made in VERBS.items()
        for each in made.words
        if each.name == word
    ]
