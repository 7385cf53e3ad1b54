"""What the figures of a concern, of a stream and of its audits show, from the records."""
