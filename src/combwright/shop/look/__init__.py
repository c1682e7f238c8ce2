"""The look of every page: the frame, the style sheet, and a page that shows all parts."""
