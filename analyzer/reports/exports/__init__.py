"""Takes a stored report. Gives files for other programs: edit markers, chapters, captions, a timer. Judges nothing."""
