//! Work materials: what is known of them, from where, over which range and how far it scatters.
