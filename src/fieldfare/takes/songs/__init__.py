"""From takes to songs: where each begins and ends, what it is called, how sure that is, and cuts that alter nothing."""
