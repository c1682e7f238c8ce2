"""`python -m benchmarks`: the planner, the shop's pages and people at once, and the tunes."""

from benchmarks import load, planner, tunes

if __name__ == "__main__":
    planner.main()
    load.main([])
    tunes.main([])
