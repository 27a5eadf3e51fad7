"""Evaluation of rules over arrays of exact integers: for one part or a million, and for links, boxes and packages."""
