// A file opens at the turns.
advise();
