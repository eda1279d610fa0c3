"""A Dask cluster of two workers on this machine, no dashboard. Says its address; ends with its input."""

import sys

from distributed import LocalCluster


def main():
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1"
    ) as cluster:
        print(cluster.scheduler_address, flush=True)
        sys.stdin.read()


if __name__ == "__main__":
    main()
