"""The words every room speaks: instants, words, plans, events, intervals, findings. Never reads or writes files."""
