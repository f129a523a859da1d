"""The one rule for every file that is written; see `propagate.io.output.write`.

- What was read is never written to, nor a folder that holds it (`sources`).
- What stands there is replaced only when it is asked for and is, byte for byte, what
  this program wrote there (`listing`, `standing`).
- A write is complete or absent, also when it is killed; what a killed run left is put
  right by the next one in that folder (`work`).
"""

from propagate.io.output.listing import LIST_NAME
from propagate.io.output.sources import read_from
from propagate.io.output.work import left_behind
from propagate.io.output.write import (
    Written,
    amend_file,
    amend_files,
    check_files,
    check_folder,
    open_file,
    write_files,
    write_folder,
)

__all__ = [
    "LIST_NAME",
    "Written",
    "amend_file",
    "amend_files",
    "check_files",
    "check_folder",
    "left_behind",
    "open_file",
    "read_from",
    "write_files",
    "write_folder",
]
