"""Jobs in the order with the least changing of tools, and the stations that stand on the bed for a run of them.

Takes what each job's own set-up needs on the bed, seconds and due days. Gives the order, how far it is proven least,
and layouts: stations with their places, and which jobs use them.
"""

from .changing import Kind as Kind
from .days import WorkingDays as WorkingDays
from .layouts import LaidStation as LaidStation, Layout as Layout
from .on_bed import Bed as Bed, Need as Need, Standing as Standing, ToolKind as ToolKind, ToolRow as ToolRow
from .queued import Queue as Queue, QueuedJob as QueuedJob, QueueJob as QueueJob, queue_of as queue_of
from .record import job_records as job_records, queue_record as queue_record
