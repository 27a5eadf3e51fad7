"""Lists into the catalog: text to figure, or to a problem row with its reasons; and the versions this makes."""
