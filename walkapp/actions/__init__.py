"""What the program can do, each thing once; used by the window and by the command line alike."""
