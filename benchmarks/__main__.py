"""`python -m benchmarks`: planner, shop, people at once, tunes, their tabs and readers, the ear."""

from benchmarks import (
    comparing,
    hearing,
    live_page,
    load,
    planner,
    readers,
    tabs,
    together,
    tunes,
)

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
