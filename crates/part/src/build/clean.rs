//! Triangles without area go.

use super::Soup;

/// Removes triangles with two corners in one vertex, and notes how many there were.
pub(super) fn clean(soup: &mut Soup, notes: &mut Vec<String>) {
    let bad = |t: &[u32; 3]| t[0] == t[1] || t[1] == t[2] || t[2] == t[0];
    let keep: Vec<bool> = soup.triangles.iter().map(|t| !bad(t)).collect();
    let gone = keep.iter().filter(|k| !**k).count();
    if gone == 0 {
        return;
    }
    retain(&mut soup.triangles, &keep);
    retain(&mut soup.piece_of, &keep);
    retain(&mut soup.group_of, &keep);
    notes.push(format!("{gone} triangles without area were left out"));
}

fn retain<T>(list: &mut Vec<T>, keep: &[bool]) {
    let mut flags = keep.iter();
    list.retain(|_| flags.next().copied().unwrap_or(true));
}
