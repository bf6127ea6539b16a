"""The real work on a real Dask scheduler with two workers on this machine, one of them killed midway.

    python -m tests.bench.cluster

Ends with code 1 where a sheet is lost, or a table, drawing or picture differs by a byte from those of a local run.
"""

import json
import os
import signal
import sys
import tempfile
from pathlib import Path

from distributed import LocalCluster

from digitize.batch.run import run_here, run_on_cluster
from tests.bench.kills import compared, drawer, finished


def main() -> None:
    """Run both, compare, print a line."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        jobs, here, there = drawer(home / "drawer"), home / "here", home / "there"
        here.mkdir()
        there.mkdir()
        list(run_here(jobs, here, 1))
        with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50) as cluster:
            victim = next(iter(cluster.workers.values())).process.process.pid
            outcomes = []
            for outcome in run_on_cluster(jobs, there, cluster.scheduler_address):
                outcomes.append(outcome)
                if len(outcomes) == 1:
                    os.kill(victim, signal.SIGKILL)
        local, remote = (compared(finished(jobs, out)) for out in (here, there))
        files = sum(len(each) for each in local.values())
        figures = {"sheets": len(jobs), "done": len(remote), "files": files, "same_bytes": local == remote}
        print(json.dumps(figures | {"failed": [each.sentence for each in outcomes if each.sentence]}))
    sys.exit(0 if local == remote and len(remote) == len(jobs) else 1)


if __name__ == "__main__":
    main()
