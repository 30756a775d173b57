//! A law of force that the tests share.
#![allow(dead_code, unreachable_pub, reason = "each test takes what it needs")]

use mechanics::force::Coefficients;

/// Of the size of wrought aluminium's; what it is does not matter to the tests.
pub const LAW: Coefficients = Coefficients {
    ktc_n_mm2: 800.0,
    krc_n_mm2: 260.0,
    kac_n_mm2: 120.0,
    kte_n_mm: 12.0,
    kre_n_mm: 15.0,
    kae_n_mm: 2.0,
};
