"""What a concern, a stream, a walk and a record are: no disk, no clock, no chance."""
