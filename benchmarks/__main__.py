"""`python -m benchmarks`: the planner, the shop, people at once in it, the tunes, and the ear."""

from benchmarks import comparing, hearing, live_page, load, planner, together, tunes

if __name__ == "__main__":
    planner.main()
    load.main([])
    tunes.main([])
    hearing.main([])
    together.main([])
    comparing.main([])
    live_page.main([])
