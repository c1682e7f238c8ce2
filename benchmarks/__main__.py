"""`python -m benchmarks`: run the planner's benchmark."""

from benchmarks.planner import main

if __name__ == "__main__":
    main()
