"""The steps by which an older store is brought up to date; they run as it is opened."""
