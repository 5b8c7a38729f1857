"""Classes written by hand, with truth: ``classes`` are looked at when something is changed, ``heldout`` never."""
