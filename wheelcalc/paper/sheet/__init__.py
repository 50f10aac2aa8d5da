"""The bench sheet: everything the hands need, as one HTML file to print; a module per page."""
