"""One file a kind of page: each a pure function from what was decided to the HTML body of that page."""
