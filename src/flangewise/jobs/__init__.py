"""The whole way for one part, and many parts.

Takes parts and the shop. Gives a Job a part: blank, tools, order, setup, findings.
Relies on every room before it.
"""

from flangewise.jobs.again import replayed, section_numbers
from flangewise.jobs.by_hand import hand_steps
from flangewise.jobs.machines import worked_out
from flangewise.jobs.mend import work_out
from flangewise.jobs.one import Job, OtherMachine
from flangewise.jobs.runners import runners_up
from flangewise.jobs.tried import tag_of, tools_of, tried_piece

__all__ = [
    "Job",
    "OtherMachine",
    "hand_steps",
    "replayed",
    "runners_up",
    "section_numbers",
    "tag_of",
    "tools_of",
    "tried_piece",
    "work_out",
    "worked_out",
]
