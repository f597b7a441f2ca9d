"""The job log: records that are only ever added, their evidence, and proof of both.

    log = JobLog.open()
    job = log.start_job({"asset": "bilge pump 2", "serial": "X-104"}, at=now)
    clip = log.keep(wav_bytes, ".wav", flac=True)
    log.append(job.ref, "reading", body, at=now, evidence=[clip])

``docs/data-model.md`` describes what lies on the disk and why.
"""

from fieldnote.joblog.archive import Whereabouts
from fieldnote.joblog.evidence import Evidence
from fieldnote.joblog.history import History, Point
from fieldnote.joblog.index import Index, Indexer
from fieldnote.joblog.log import JobLog
from fieldnote.joblog.merge import Bundle, Merged, read_bundle
from fieldnote.joblog.private import PRIVATE_FACTS
from fieldnote.joblog.record import KINDS, Job, Record
from fieldnote.joblog.retention import Removed
from fieldnote.joblog.seal import Seal
from fieldnote.joblog.search import Hit
from fieldnote.joblog.standing import Standing
from fieldnote.joblog.verify import Fault

__all__ = [
    "KINDS",
    "PRIVATE_FACTS",
    "Bundle",
    "Evidence",
    "Fault",
    "History",
    "Hit",
    "Index",
    "Indexer",
    "Job",
    "JobLog",
    "Merged",
    "Point",
    "Record",
    "Removed",
    "Seal",
    "Standing",
    "Whereabouts",
    "read_bundle",
]
