"""What goes into an opening, asked of the store: rules as SQL, for one part or for every part."""
