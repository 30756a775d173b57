//! A perceptual colour scale: lightness falls evenly from paper to ink, so that it survives a
//! black-and-white print and colour-blind eyes. Built in OKLCH (B. Ottosson, 2020).

/// Colour of `share` (0: paper side, 1: ink side), sRGB.
pub(crate) fn colour(share: f64) -> [u8; 3] {
    let t = share.clamp(0.0, 1.0);
    // lightness is linear; hue swings from warm straw over teal to deep plum
    let lightness = 0.965 - 0.72 * t;
    let chroma = 0.035 + 0.10 * (std::f64::consts::PI * (0.12 + 0.76 * t)).sin();
    let hue = (95.0 + 205.0 * t).to_radians();
    oklab_to_srgb(lightness, chroma * hue.cos(), chroma * hue.sin())
}

/// The same as a CSS colour.
pub(crate) fn css(share: f64) -> String {
    let [r, g, b] = colour(share);
    format!("#{r:02x}{g:02x}{b:02x}")
}

fn oklab_to_srgb(l: f64, a: f64, b: f64) -> [u8; 3] {
    let l_ = (l + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let m_ = (l - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let s_ = (l - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    [
        4.076_741_662_1 * l_ - 3.307_711_591_3 * m_ + 0.230_969_929_2 * s_,
        -1.268_438_004_6 * l_ + 2.609_757_401_1 * m_ - 0.341_319_396_5 * s_,
        -0.004_196_086_3 * l_ - 0.703_418_614_7 * m_ + 1.707_614_701_0 * s_,
    ]
    .map(|linear| (gamma(linear.clamp(0.0, 1.0)) * 255.0).round() as u8)
}

fn gamma(linear: f64) -> f64 {
    if linear <= 0.003_130_8 { 12.92 * linear } else { 1.055 * linear.powf(1.0 / 2.4) - 0.055 }
}

/// A round number at or above `value`: 1, 2, 2.5 or 5 times a power of ten.
pub(crate) fn round_up(value: f64) -> f64 {
    if value.is_nan() || value <= 0.0 || value.is_infinite() {
        return 1.0;
    }
    let power = 10f64.powf(value.log10().floor());
    let step = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().find(|s| s * power >= value * (1.0 - 1e-12));
    step.unwrap_or(10.0) * power
}

#[cfg(test)]
mod tests {
    use super::*;

    fn luminance([r, g, b]: [u8; 3]) -> f64 {
        0.2126 * f64::from(r) + 0.7152 * f64::from(g) + 0.0722 * f64::from(b)
    }

    #[test]
    fn the_scale_darkens_all_the_way() {
        let steps: Vec<f64> = (0..=20).map(|i| luminance(colour(f64::from(i) / 20.0))).collect();
        assert!(steps.windows(2).all(|w| w[1] < w[0]), "{steps:?}");
    }

    #[test]
    fn axis_ends_are_round() {
        assert_eq!(round_up(3.3), 5.0);
        assert_eq!(round_up(0.21), 0.25);
        assert_eq!(round_up(100.0), 100.0);
    }
}
