//! Exact circle geometry of neighbouring passes: cusp, its mean, and the step-over for a cusp.
