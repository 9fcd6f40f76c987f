# What knobpack.show offers, for type checkers; __init__.py loads each name when it is asked for.

from knobpack.show.allocator import allocate_show as allocate_show
from knobpack.show.answer import ShowAllocation as ShowAllocation
from knobpack.show.changes import show_in_order as show_in_order
from knobpack.show.changes import with_song as with_song
from knobpack.show.changes import with_voice as with_voice
from knobpack.show.changes import without_song as without_song
from knobpack.show.difference import LeftOut as LeftOut
from knobpack.show.difference import MovedInSong as MovedInSong
from knobpack.show.difference import PartChange as PartChange
from knobpack.show.difference import SetAnew as SetAnew
from knobpack.show.difference import ShowDifference as ShowDifference
from knobpack.show.difference import ThingChange as ThingChange
from knobpack.show.jumps import LevelHere as LevelHere
from knobpack.show.jumps import LevelsMoved as LevelsMoved
from knobpack.show.jumps import SongJumps as SongJumps
from knobpack.show.odd_one_out import OddSong as OddSong
from knobpack.show.odd_one_out import OddSongs as OddSongs
from knobpack.show.odd_one_out import odd_songs as odd_songs
from knobpack.show.other_panel import SharedThere as SharedThere
from knobpack.show.other_panel import ShowThere as ShowThere
from knobpack.show.other_panel import SongThere as SongThere
from knobpack.show.other_panel import on_panel as on_panel
from knobpack.show.prices import SHOW_TIERS as SHOW_TIERS
from knobpack.show.prices import FoundAt as FoundAt
from knobpack.show.prices import Relearned as Relearned
from knobpack.show.prices import SeveralTravels as SeveralTravels
from knobpack.show.prices import Shift as Shift
from knobpack.show.prices import ShowDestination as ShowDestination
from knobpack.show.prices import ShowPrices as ShowPrices
from knobpack.show.prices import SongLoads as SongLoads
from knobpack.show.prices import TravelBetween as TravelBetween
from knobpack.show.questions import as_laid_out as as_laid_out
from knobpack.show.questions import one_more_knob as one_more_knob
from knobpack.show.questions import what_if_show as what_if_show
from knobpack.show.questions import why_elsewhere as why_elsewhere
from knobpack.show.questions import worth_freeing as worth_freeing
from knobpack.show.song import Show as Show
from knobpack.show.song import Song as Song
from knobpack.show.song import VoiceRole as VoiceRole
from knobpack.show.ways import ShowChange as ShowChange
from knobpack.show.ways import WorthFreeing as WorthFreeing

__all__: list[str]
