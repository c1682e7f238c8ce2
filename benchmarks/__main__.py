"""`python -m benchmarks`: planner, shop, people at once in it, tunes, their tabs, and the ear."""

from benchmarks import comparing, hearing, live_page, load, planner, tabs, together, tunes

"""`python -m benchmarks`: the planner, the shop, people at once in it, the tunes and
their readers, and the ear."""

from benchmarks import comparing, hearing, live_page, load, planner, readers, together, tunes

if __name__ == "__main__":
    planner.main()
    load.main([])
    tunes.main([])
    tabs.main([])
    readers.main([])
    hearing.main([])
    together.main([])
    comparing.main([])
    live_page.main([])
