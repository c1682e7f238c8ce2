"""`python -m benchmarks`: the planner's benchmark, then the shop's pages and people at once."""

from benchmarks import load, planner

if __name__ == "__main__":
    planner.main()
    load.main([])
