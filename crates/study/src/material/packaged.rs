//! The files of the materials that come with the program, embedded.

macro_rules! embedded {
    ($name:literal) => {
        (
            concat!($name, ".toml"),
            include_str!(concat!("../../../../data/materials/", $name, ".toml")),
        )
    };
}

/// Name and text of every file, in the order in which materials are listed.
pub(super) const FILES: [(&str, &str); 38] = [
    embedded!("s235jr"),
    embedded!("s355j2"),
    embedded!("c45"),
    embedded!("16mncr5"),
    embedded!("42crmo4-a"),
    embedded!("42crmo4-qt"),
    embedded!("34crnimo6-qt"),
    embedded!("100cr6-a"),
    embedded!("40crmnnimo8-6-4"),
    embedded!("x37crmov5-1-a"),
    embedded!("x153crmov12-a"),
    embedded!("x5crnicunb16-4"),
    embedded!("x5crni18-10"),
    embedded!("x2crnimo17-12-2"),
    embedded!("x2crnimon22-5-3"),
    embedded!("en-gjl-250"),
    embedded!("en-gjs-400-15"),
    embedded!("en-gjs-600-3"),
    embedded!("en-aw-2024-t351"),
    embedded!("en-aw-5083-h111"),
    embedded!("en-aw-6061-t6"),
    embedded!("en-aw-6082-t6"),
    embedded!("en-aw-7050-t7451"),
    embedded!("en-aw-7075-t651"),
    embedded!("en-ac-42100-t6"),
    embedded!("en-ac-46000"),
    embedded!("en-ac-48000-t6"),
    embedded!("az91d"),
    embedded!("cw614n"),
    embedded!("cw004a"),
    embedded!("pom-c"),
    embedded!("ti-6al-4v"),
    embedded!("ti-grade-2"),
    embedded!("nicr19nbmo"),
    embedded!("x37crmov5-1-52hrc"),
    embedded!("x153crmov12-60hrc"),
    embedded!("100cr6-62hrc"),
    embedded!("16mncr5-58hrc"),
];
