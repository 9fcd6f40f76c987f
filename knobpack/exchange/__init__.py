"""Exchange: voices from the controller lists that instruments give of themselves.

After M2-117-UM v1.0 (MIDI-CI Property Exchange, controller resources): AllCtrlList (section 2),
ChCtrlList (section 3) and CtrlMapList (section 4). All values there have 32 bits (section 1.5).

**Refused**, with the field that holds it, because what follows could only be guessed, or would be
wrong on stage:

- text that is not JSON, a trailing comma or a key without quotes included: to mend it is to guess
  what was meant; the error says line and column. A key given twice, deep nesting, half a character;
- a wrong type, a number with a fraction, and one out of its range, ``default`` above excepted;
- ``title``, ``ctrlType``, ``ctrlIndex`` or (AllCtrlList) ``channel`` missing where it is required;
  another channel within a ChCtrlList;
- a ``ctrlType``, ``transmit`` or ``recognize`` that the standard does not have;
- of what is recognized: a controller number that is reserved, and 127, 127 as parameter number,
  which is the null one; two numbers that are no high half and its own low half;
- one controller twice, but for once with transmit ``none`` and once with recognize ``none``; a
  controller number that is in a pair of another counts as the same;
- ``stepCount`` with ``minMax``; fewer steps than two; a range that does not rise;
- ``valueSelect`` without ``ctrlMapId``; a ``ctrlMapId`` that is no such id;
- a ``paramPath`` of more than 256 bytes;
- control, format and bidirectional characters in ``title`` and ``paramPath``, which become names.

**Tolerated**, each with a remark:

- a key or a word of a list of choices in other case (``Title``); ``null`` for a missing value;
  capitals in ``ctrlMapId``;
- keys that are not known (``requireId`` and ``requireResId``, which belong to ResourceList, among
  them), and keys that do not belong to this list or sort of controller: passed over;
- ``default`` above 2**32 - 1: left out, since to guess it could be loud;
- no ``priority``, for which the standard has no default: medium, 3;
- a ``typeHint`` that is not known, and a ``paramPath`` that is no JSON Pointer: passed over;
- a map that was not given, or does not fit; a range that is finer than a position;
- names that are too long, hold a ``/``, end in spaces, or are there twice: changed.

The other defaults are the standard's own and are taken without a word: ``transmit`` and
``recognize`` absolute, ``numSigBits`` 32, ``defaultCCMap`` false.
"""

from knobpack.exchange.imported import Imported, ListedController
from knobpack.exchange.lists import (
    import_all_controllers,
    import_channel_controllers,
    import_controllers,
)

__all__ = [
    "Imported",
    "ListedController",
    "import_all_controllers",
    "import_channel_controllers",
    "import_controllers",
]
