"""How long a call takes, for every bench that times calls."""

import time

import numpy as np


def seconds_of(run, times=15):
    """Median processor time of a call, after one to warm up."""
    run()
    spent = []
    for _ in range(times):
        start = time.process_time()
        run()
        spent.append(time.process_time() - start)
    return float(np.median(spent))
