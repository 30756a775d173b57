//! What each quantity of the files may be. The ends are wide: they are there to catch a mistaken
//! unit or a slipped point, not to teach milling. All: common practice, no source.

use crate::text::Bound;

const MM: &str = "the key is in mm: was the value meant in µm, inches or another unit?";
const UM: &str = "the key is in µm (0.001 mm): was the value meant in mm?";
const DEG: &str = "the key is in degrees";
const TOOTH: &str = "the key is in mm per tooth: was a feed in mm/min or µm meant?";
const CUTTING: &str = "the key is in m/min: was it meant in mm/min or rev/min?";
const FEED: &str = "the key is in mm/min: was it meant in m/min or mm?";

pub(super) const PARTS: Bound = Bound::between("", 1.0, 1e9, "give a number of parts");
pub(super) const MINUTES: Bound = Bound::from_zero("min", 1e5, "the key is in minutes");
pub(super) const SECONDS: Bound = Bound::positive("s", 1e7, "the key is in seconds");
pub(super) const CONFIDENCE: Bound =
    Bound::between("", 0.5, 0.999, "write it as a share: 0.90 for 90 %");
pub(super) const COORDINATE: Bound = Bound::between("mm", -1e5, 1e5, MM);
pub(super) const TURN: Bound = Bound::between("deg", -360.0, 360.0, DEG);
pub(super) const MARGIN: Bound = Bound::from_zero("mm", 1000.0, MM);
pub(super) const ALLOWANCE: Bound = Bound::from_zero("mm", 50.0, MM);

pub(super) const CUSP_UM: Bound = Bound::between("um", 0.01, 2000.0, UM);
pub(super) const RA_UM: Bound = Bound::between("um", 0.01, 200.0, UM);
pub(super) const TOLERANCE_UM: Bound = Bound::between("um", 0.5, 5000.0, UM);
pub(super) const CHORD_UM: Bound = Bound::between("um", 0.01, 200.0, UM);

pub(super) const STEPOVER: Bound = Bound::positive("mm", 100.0, MM);
pub(super) const KAPPA_DEG: Bound = Bound::between("deg", 0.0, 135.0, DEG);
pub(super) const LEAD_DEG: Bound = Bound::between("deg", -60.0, 60.0, DEG);
pub(super) const LEAD_RADIUS: Bound = Bound::from_zero("mm", 100.0, MM);
pub(super) const CLEARANCE: Bound = Bound::from_zero("mm", 500.0, MM);
pub(super) const RPM: Bound = Bound::between("rev/min", 1.0, 250_000.0, "the key is in rev/min");
pub(super) const VC_M_MIN: Bound = Bound::between("m/min", 0.5, 10_000.0, CUTTING);
pub(super) const FEED_PER_TOOTH: Bound = Bound::between("mm", 0.0005, 3.0, TOOTH);
pub(super) const FEED_MM_MIN: Bound = Bound::between("mm/min", 1.0, 100_000.0, FEED);
pub(super) const DEPTH: Bound = Bound::positive("mm", 200.0, MM);
/// Rounds along a wall after the first.
pub(super) const SPRING_PASSES: Bound =
    Bound::between("", 0.0, 5.0, "give a whole number of rounds");
pub(super) const WIDTH: Bound = Bound::positive("mm", 300.0, MM);
pub(super) const ENTRY_DEG: Bound = Bound::between("deg", 0.1, 90.0, DEG);

pub(super) const DIAMETER: Bound = Bound::between("mm", 0.02, 400.0, MM);
pub(super) const ARC_RADIUS: Bound = Bound::positive("mm", 5000.0, MM);
pub(super) const CORNER_RADIUS: Bound = Bound::from_zero("mm", 200.0, MM);
pub(super) const CORNER_OFFSET: Bound = Bound::from_zero("mm", 200.0, MM);
pub(super) const TAPER_DEG: Bound = Bound::between("deg", 0.0, 80.0, DEG);
pub(super) const TEETH: Bound = Bound::between("", 1.0, 60.0, "give the number of teeth");
pub(super) const TOOL_LENGTH: Bound = Bound::positive("mm", 1000.0, MM);
pub(super) const HELIX_DEG: Bound = Bound::between("deg", -75.0, 75.0, DEG);
pub(super) const RUNOUT_UM: Bound = Bound::from_zero("um", 500.0, UM);
pub(super) const PRICE: Bound = Bound::from_zero("", 1e6, "give it in the machine's currency");
pub(super) const EDGES: Bound = Bound::between("", 1.0, 1000.0, "give the uses in one price");
pub(super) const CHANGE_MIN: Bound = Bound::from_zero("min", 1000.0, "the key is in minutes");

pub(super) const RATE: Bound = Bound::from_zero("", 1e6, "give the price of one hour");
pub(super) const PLACES: Bound = Bound::between("", 1.0, 10_000.0, "give the number of places");
pub(super) const LENGTH: Bound = Bound::between("mm", -1e5, 1e5, MM);
pub(super) const TRAVEL_DEG: Bound = Bound::between("deg", -1e6, 1e6, DEG);
pub(super) const BLOCK_MS: Bound = Bound::from_zero("ms", 1000.0, "the key is in milliseconds");
pub(super) const CORNER_STEP: Bound = Bound::between("mm/min", 0.1, 100_000.0, FEED);
pub(super) const FILTER_MS: Bound = Bound::from_zero("ms", 1000.0, "the key is in milliseconds");
pub(super) const SETTING: Bound =
    Bound::between("", 1e-6, 1e6, "a setting that is left out does nothing");
pub(super) const BLOCKS: Bound = Bound::between("", 1.0, 1e6, "give the number of blocks");
pub(super) const STOP_DEG: Bound =
    Bound::between("deg", 0.01, 180.0, "corners that turn by more are stops; 180: none is");
pub(super) const ERROR_SHARE: Bound =
    Bound::from_zero("", 0.5, "the key is a share: 0.01 stands for 1 %");
pub(super) const FITTED: Bound =
    Bound::from_zero("", 1e9, "give both ends in the unit of the key that they belong to");
pub(super) const PATH_TOLERANCE: Bound = Bound::from_zero("mm", 1.0, MM);
pub(super) const WAIT_S: Bound = Bound::from_zero("s", 3600.0, "the key is in seconds");
pub(super) const AXIS_FEED: Bound = Bound::between("mm/min", 10.0, 500_000.0, FEED);
pub(super) const AXIS_FEED_DEG: Bound =
    Bound::between("deg/min", 10.0, 5_000_000.0, "the key is in deg/min: 1 rev/min is 360 deg/min");
pub(super) const ACCEL: Bound =
    Bound::between("m/s2", 0.01, 200.0, "the key is in m/s2: 1 g is 9.81, 1000 mm/s2 are 1");
pub(super) const ACCEL_DEG: Bound = Bound::positive("deg/s2", 1e6, "the key is in deg/s2");
pub(super) const JERK: Bound =
    Bound::between("m/s3", 0.1, 100_000.0, "the key is in m/s3: 1000 mm/s3 are 1");
pub(super) const JERK_DEG: Bound = Bound::positive("deg/s3", 1e9, "the key is in deg/s3");
pub(super) const SPEED: Bound = Bound::from_zero("rev/min", 250_000.0, "the key is in rev/min");
pub(super) const POWER: Bound =
    Bound::from_zero("kW", 1000.0, "the key is in kW: was it meant in W?");
pub(super) const TORQUE: Bound =
    Bound::from_zero("Nm", 10_000.0, "the key is in Nm: was it meant in N mm?");
pub(super) const SIGN: Bound = Bound::between("", -1.0, 1.0, "1, or -1 for the other way");

pub(super) const DENSITY: Bound =
    Bound::between("kg/m3", 200.0, 25_000.0, "the key is in kg/m3: was it meant in g/cm3?");
pub(super) const HARDNESS: Bound = Bound::between("", 1.0, 1500.0, "give it on the stated scale");
pub(super) const SCATTER: Bound =
    Bound::from_zero("", 50.0, "0.25 means: between value / 1.25 and value * 1.25, in 90 of 100");
pub(super) const KC11: Bound =
    Bound::between("N/mm2", 20.0, 10_000.0, "the key is in N/mm2 at 1 mm of chip thickness");
pub(super) const MC: Bound = Bound::between("", 0.0, 0.7, "give mc of kc = kc1.1 h^-mc");
pub(super) const RAKE_DEG: Bound = Bound::between("deg", -45.0, 45.0, DEG);
pub(super) const KC: Bound =
    Bound::between("N/mm2", -20_000.0, 20_000.0, "the key is in N/mm2: was it meant in N/m2?");
pub(super) const KTC: Bound =
    Bound::positive("N/mm2", 20_000.0, "the key is in N/mm2: was it meant in N/m2?");
pub(super) const KE: Bound =
    Bound::between("N/mm", -1000.0, 1000.0, "the key is in N/mm: was it meant in N/m?");
pub(super) const RATIO: Bound = Bound::between("", -5.0, 5.0, "give it over the tangential force");
pub(super) const CHIP: Bound = Bound::positive("mm", 20.0, MM);
pub(super) const BULK: Bound = Bound::between("", 1.0, 500.0, "give loose volume over solid");
pub(super) const EDGE_SHARE: Bound = Bound::positive("", 5.0, "give it over the edge radius");
pub(super) const EDGE_RADIUS: Bound = Bound::positive("mm", 1.0, MM);
pub(super) const TAYLOR_C: Bound = Bound::between("m/min", 1.0, 20_000.0, CUTTING);
pub(super) const TAYLOR_N: Bound = Bound::between("", 0.03, 1.5, "give n of v T^n = C");
pub(super) const EXPONENT: Bound =
    Bound::between("", -10.0, 10.0, "give the exponent of reference over value");
pub(super) const SHARE: Bound = Bound::positive("", 1.0, "give it over the cutter's diameter");
