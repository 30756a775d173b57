//! Pages put on paper, read back by a PDF library that shares no code with the writer.

use std::fmt::Write;

fn page(body: &str) -> String {
    format!(
        "<!doctype html><html><head><style>:root{{--ink:#22303a}}svg .bar{{fill:var(--ink)}}</style></head>\
         <body><header><h1>Cap &amp; bracket</h1></header><main>{body}</main>\
         <footer><p>predicted numbers</p></footer></body></html>"
    )
}

/// The text of every page, without white space.
fn read(bytes: &[u8]) -> Vec<String> {
    let document = lopdf::Document::load_mem(bytes).expect("a PDF");
    let pages: Vec<u32> = document.get_pages().into_keys().collect();
    let text = |n: &u32| document.extract_text(&[*n]).expect("text");
    pages.iter().map(|n| text(n).split_whitespace().collect()).collect()
}

fn table(rows: usize) -> String {
    let mut body = String::new();
    for i in 0..rows {
        write!(body, "<tr><th>row {i}</th><td>{} mm</td></tr>", 2 * i).expect("text");
    }
    format!(
        "<table><thead><tr><th>name</th><th>length</th></tr></thead><tbody>{body}</tbody></table>"
    )
}

#[test]
fn what_a_page_says_stands_on_paper() {
    let body = "<section><h2>Claims</h2><p>saves <strong>12 %</strong>, 3 µm ≤ 5 µm</p>\
                <ul><li>one</li><li>two</li></ul></section>\
                <p class=\"on-screen\">for a screen</p>";
    let pages = read(&paper::pdf(&page(body)).expect("a page"));
    assert_eq!(pages.len(), 1);
    for said in ["Cap&bracket", "Claims", "saves12%,3µm≤5µm", "•one", "predictednumbers", "1/1"]
    {
        assert!(pages[0].contains(said), "{said} in {}", pages[0]);
    }
    assert!(!pages[0].contains("screen"));
}

#[test]
fn a_long_table_says_its_head_on_every_page() {
    let pages = read(&paper::pdf(&page(&table(150))).expect("a page"));
    assert!(pages.len() >= 3);
    for (i, text) in pages.iter().enumerate() {
        assert!(text.contains("namelength"), "page {}", i + 1);
        assert!(text.contains(&format!("{}/{}", i + 1, pages.len())));
    }
    let whole = pages.concat();
    assert!((0..150).all(|i| whole.contains(&format!("row{i}{}mm", 2 * i))));
}

#[test]
fn a_heading_stays_with_what_follows() {
    for rows in 30..60 {
        let body = format!("{}<h3>Operation</h3>{}", table(rows), table(2));
        for text in read(&paper::pdf(&page(&body)).expect("a page")) {
            assert!(
                !text.contains("Operation") || text.contains("Operationname"),
                "{rows} rows: {text}"
            );
        }
    }
}

#[test]
fn drawings_are_drawn_with_the_rules_of_the_page() {
    let svg = "<figure><svg viewBox=\"0 0 100 20\"><rect class=\"bar\" width=\"50\" height=\"9\"/>\
               <text x=\"2\" y=\"18\">⌀ 12</text></svg><figcaption>To scale</figcaption></figure>";
    let pages = read(&paper::pdf(&page(svg)).expect("a page"));
    assert!(pages[0].contains("Ø12") && pages[0].contains("Toscale"), "{}", pages[0]);
}

#[test]
fn the_same_page_gives_the_same_bytes() {
    let html = page(&table(40));
    assert_eq!(paper::pdf(&html).expect("a page"), paper::pdf(&html).expect("a page"));
}

#[test]
fn what_is_no_page_is_refused() {
    assert!(paper::pdf("").is_err());
    assert!(paper::pdf(&page("<p>open")).is_err());
}
