// Everything is loaded.
home();
