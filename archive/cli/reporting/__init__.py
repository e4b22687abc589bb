"""Records and measurements in words a librarian can read aloud."""
