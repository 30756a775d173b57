//! Where a cutter is in the cut when it finishes a face.
