"""The rules' declarations, evaluated over arrays of exact integers: for one part, a million, links, boxes, packages."""
