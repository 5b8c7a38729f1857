"""Classes written by hand, with truth: those in ``classes`` are looked at when something is changed, ``heldout`` never."""
