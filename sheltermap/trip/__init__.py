"""What a traveller wrote, checked as a whole."""
