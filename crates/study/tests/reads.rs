//! A whole study reads into the values it states, and into the stated defaults where it is silent.

use study::{AxisRule, Cut, Feed, FeedAt, Finish, Lean, Pattern, Select, Spacing, Speed, Traverse};

const STUDY: &str = include_str!("data/study.toml");
const MACHINE: &str = include_str!("data/machine.toml");
const CUTTERS: &str = include_str!("data/cutters.toml");

fn files(path: &str) -> Option<Vec<u8>> {
    match path {
        "machine.toml" => Some(MACHINE.as_bytes().to_vec()),
        "cutters.toml" => Some(CUTTERS.as_bytes().to_vec()),
        _ => None,
    }
}

fn read() -> study::Study {
    study::read::study(STUDY.as_bytes(), "study.toml", &files).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn the_header_the_part_and_the_feature() {
    let study = read();
    assert_eq!(study.name, "Foil mast coupling: crown and pockets");
    assert_eq!((study.parts_per_year, study.lot_size, study.setup_s), (Some(400.0), 50.0, 2700.0));
    assert_eq!(study.machine.id, "trunnion-15k");
    assert_eq!(study.part.material.id, "en-aw-7075-t651");
    assert_eq!(study.part.file.path, "coupling.step");
    let crown = &study.features[0];
    assert_eq!(crown.finish, Some(Finish::Cusp { limit_mm: 0.003 }));
    assert!(matches!(crown.select, Select::Near { point_mm } if point_mm.z == 41.0));
    assert_eq!(
        study.sources.iter().map(|s| s.name.as_str()).collect::<Vec<_>>(),
        ["study.toml", "machine.toml", "cutters.toml"]
    );
}

#[test]
fn an_operation_with_every_default() {
    let study = read();
    let finish = &study.processes[0].operations[0];
    assert_eq!(study.feature_of(finish).name, "crown");
    assert_eq!(study.cutter_of(finish).id, "ball-12");
    assert_eq!(finish.pattern, Pattern::Parallel);
    assert_eq!(finish.spacing, Some(Spacing::Stepover { mm: 0.2 }));
    assert_eq!(finish.speed, Speed::Spindle { rev_s: 250.0 });
    assert_eq!(finish.feed, Feed::PerTooth { mm: 0.12 });
    assert_eq!(finish.feed_at, FeedAt::Contact);
    assert_eq!((finish.traverse, finish.cut), (Traverse::BothWays, Cut::Down));
    assert_eq!((finish.allowance_mm, finish.lead_radius_mm, finish.clearance_mm), (0.2, 2.0, 2.0));
    assert_eq!((finish.direction_rad, finish.lead_rad, finish.chord_mm), (0.0, 0.0, None));
    let kappa_rad = Some(15.0_f64.to_radians());
    assert_eq!(finish.axis, AxisRule::Tilted { kappa_rad, lean: Lean::Auto });
    assert_eq!(finish.measured_time_s, Some(580.0));
}

#[test]
fn a_cutter_of_the_companion_and_every_key_of_an_operation() {
    let study = read();
    let proposal = &study.processes[1].operations[0];
    assert_eq!(study.cutter_of(proposal).id, "tangent-12-r250");
    assert_eq!(study.cutter_of(proposal).spec.arc_radius_mm, Some(250.0));
    assert_eq!(proposal.spacing, Some(Spacing::Cusp { mm: 0.005 }));
    assert_eq!(proposal.speed, Speed::Cutting { mm_s: 5000.0 });
    assert_eq!(proposal.feed, Feed::Rate { mm_s: 50.0 });
    assert_eq!((proposal.traverse, proposal.cut), (Traverse::OneWay, Cut::Up));
    let roughing = &study.processes[1].operations[1].roughing;
    assert_eq!((roughing.depth_per_pass_mm, roughing.width_mm), (Some(6.0), Some(1.2)));
    assert_eq!(study.sources[study.cutter_of(proposal).place.source].name, "cutters.toml");
}

#[test]
fn a_machine_that_comes_with_the_program_is_found_by_its_id() {
    let text = STUDY.replace("machine.toml", "three-axis-12k");
    let study = study::read::study(text.as_bytes(), "study.toml", &files).unwrap();
    assert_eq!(study.machine.id, "three-axis-12k");
}

#[test]
fn a_dialect_file_says_which_numbers_variables_have() {
    let read = |text: &str| {
        let text = format!("name = \"x\"\n{text}");
        study::read::dialect_file(text.as_bytes(), "d.toml").expect("sound").variables
    };
    let own = "[variables]\ncommon = [100, 149]\nkept = [500, 531]\nsystem_from = 2000\n\
               angles = \"halves\"\nequal_within = 0.0";
    let rules = read(own).expect("dialect a has variables");
    assert_eq!((rules.common, rules.kept), (vec![[100, 149]], vec![[500, 531]]));
    assert_eq!((rules.system_from, rules.equal_within, rules.alarm), (2000, 0.0, Some(3000)));
    assert_eq!(rules.angles, dialect::AngleRange::Halves);
    assert_eq!(read("[variables]\nfollowed = false"), None);
    let b = "based_on = \"b\"\n";
    assert_eq!(read(b), None);
    assert_eq!(read(&format!("{b}[variables]\nfollowed = true")), Some(Default::default()));
}
