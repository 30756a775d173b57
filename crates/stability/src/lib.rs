//! Chatter: how deep a cutter may cut at which speed before it chatters.
