"""The desk: a page on this machine on which a client is fitted."""
