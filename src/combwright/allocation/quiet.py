"""A HiGHS that prints nothing, so that standard output holds our answer and nothing else."""

import highspy


class QuietHighs(highspy.Highs):  # type: ignore[misc]  # highspy is untyped here
    """HiGHS with its output off from the first call on.

    The constructor's own call already prints a header, so switching it off afterwards is too late.
    """

    def enableCallbacks(self) -> None:  # noqa: N802 (the library's name)
        """Switch output off, then do what the library does."""
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()
