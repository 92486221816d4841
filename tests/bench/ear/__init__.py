"""What the ear was never taught: any word, anybody. `python -m tests.bench.ear`"""

import os

# Before numpy is loaded: on two busy cores its threads wait for each other for ten times the CPU of the work.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
