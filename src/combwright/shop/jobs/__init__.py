"""Work that takes its time: a table of jobs, and the workers that take them up."""
