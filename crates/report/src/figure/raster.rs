//! A plan map as a PNG inside the page, one pixel per cell.

use super::scale;
use base64::Engine as _;
use study::outcome::PlanMap;

/// The map as a `data:` address; `full_um` is the value of the dark end of the scale. Cells without
/// a sample are transparent. `None` where the picture cannot be encoded.
pub(crate) fn data_address(map: &PlanMap, full_um: f64) -> Option<String> {
    let mut pixels = Vec::with_capacity(map.um.len() * 4);
    for row in (0..map.rows).rev() {
        for value in map.um.get(row * map.columns..(row + 1) * map.columns)? {
            let [r, g, b] = value.map_or([0; 3], |v| scale::colour(f64::from(v) / full_um));
            pixels.extend([r, g, b, if value.is_some() { 255 } else { 0 }]);
        }
    }
    let png = encode(map, &pixels)?;
    let text = base64::engine::general_purpose::STANDARD.encode(png);
    Some(format!("data:image/png;base64,{text}"))
}

fn encode(map: &PlanMap, pixels: &[u8]) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let (width, height) = (u32::try_from(map.columns).ok()?, u32::try_from(map.rows).ok()?);
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(pixels).ok()?;
    writer.finish().ok()?;
    Some(bytes)
}
