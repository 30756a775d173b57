//! Machines that come with the program: plain examples of their class, not of any make.

const MACHINES: [(&str, &str); 3] = [
    ("trunnion-15k", include_str!("../data/trunnion-15k.toml")),
    ("head-head-24k", include_str!("../data/head-head-24k.toml")),
    ("three-axis-12k", include_str!("../data/three-axis-12k.toml")),
];

/// Text of the machine file of that id.
pub fn machine(id: &str) -> Option<&'static str> {
    MACHINES.iter().find(|(known, _)| *known == id).map(|(_, text)| *text)
}

/// Ids of all machines that come with the program.
pub fn machine_ids() -> Vec<&'static str> {
    MACHINES.iter().map(|(id, _)| *id).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_supplied_machine_reads_and_has_its_id() {
        for id in machine_ids() {
            let text = machine(id).unwrap();
            let read =
                crate::read::machine_file(text.as_bytes(), id).unwrap_or_else(|e| panic!("{e}"));
            assert_eq!(read.id, id);
        }
    }
}
