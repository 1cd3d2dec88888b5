//! The size on a tyre's sidewall, and the wheel that follows from it.

use std::error::Error;
use std::fmt;
use std::ops::RangeInclusive;
use std::str::FromStr;

/// One code of rim diameter, mm (the inch, exactly).
const RIM_CODE_MM: f64 = 25.4;
/// Loaded radius over free radius. Common practice in the trade for car tyres at their rated load and pressure, from
/// memory; a stiff or a lightly loaded racing tyre stands higher.
const LOADED_SHARE: f64 = 0.96;
/// How far the inside of a rim lies inside its nominal radius: the drop centre and its metal, mm. From memory; rims
/// differ.
const RIM_WALL_MM: f64 = 18.5;
/// How far a J flange stands above the bead seat, mm (17.3 to 17.5, from memory).
const FLANGE_MM: f64 = 17.5;

const WIDTHS_MM: RangeInclusive<u16> = 105..=455;
const ASPECTS_PCT: RangeInclusive<u16> = 20..=95;
/// The same of racing tyres that name their diameter: the lowest stand at a third of their width.
const RACING_ASPECTS_PCT: RangeInclusive<u16> = 30..=95;
/// Of a radial tyre that names no aspect ratio, a full-profile one: `165R13`. Common practice, from memory.
const FULL_PROFILE_PCT: u16 = 82;
const RIM_CODES: RangeInclusive<u16> = 8..=24;
/// Widths and diameters of racing tyres in inches.
const WIDTHS_IN: RangeInclusive<f64> = 4.0..=18.0;
const DIAMETERS_IN: RangeInclusive<f64> = 16.0..=34.0;
/// What stands behind the slash is the diameter from here on.
const MIN_DIAMETER_MM: u16 = 400;
/// A width below this is in inches or in cm.
const MIN_MM: f64 = 100.0;
/// Widths and diameters of racing tyres in cm, and how high their walls are, in per cent of the width: a size that lacks a digit stands higher.
const WIDTHS_CM: RangeInclusive<f64> = 14.0..=40.0;
const DIAMETERS_CM: RangeInclusive<f64> = 45.0..=80.0;
const MAX_ASPECT_OF_CM_PCT: f64 = 65.0;
/// Of what service a tyre is, before its size.
const PREFIXES: [&str; 4] = ["LT", "ST", "P", "T"];
/// Speed symbols that stand before the `R` of older sizes.
const SPEEDS: [char; 8] = ['S', 'T', 'U', 'H', 'V', 'W', 'Y', 'Z'];

/// How the casing is built: the letter between aspect ratio and rim code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Construction {
    /// `R`, with or without the speed symbol before it: `SR`, `VR`, `ZR`.
    Radial,
    /// `D` or `-`.
    Diagonal,
    /// `B`.
    BiasBelted,
}

/// How high the tyre stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Height {
    /// Of the section, in per cent of its width.
    AspectPct(u16),
    /// Of the whole tyre, mm: how racing tyres have it.
    DiameterMm(u16),
}

/// A car tyre by its size designation: `205/50R15`, one of full profile, `165R13`, or a racing tyre with its diameter,
/// `200/530R13`, `20.0x9.0-13`, `20/54-13`.
///
/// Source: size designation of ISO 4000-1 (from memory): nominal section width in mm, nominal aspect ratio in per cent,
/// construction code, rim diameter code. Tested by the tests below.
#[derive(Debug, Clone)]
pub struct Tyre {
    /// As the user wrote it.
    written: String,
    width_mm: u16,
    height: Height,
    construction: Construction,
    rim_code: u16,
}

impl Tyre {
    /// Diameter of the free tyre, mm: rim code · 25.4 + 2 · width · aspect / 100, or as the designation has it.
    ///
    /// The design diameter of the size; real tyres differ by a few millimetres.
    ///
    /// Source: ISO 4000-1, design dimensions (from memory; the standard rounds the section height to a whole
    /// millimetre, this does not). Tested by `free_diameter_is_rim_and_two_sidewalls`.
    pub fn free_diameter_mm(&self) -> f64 {
        match self.height {
            Height::AspectPct(aspect_pct) => self.diameter_mm(aspect_pct),
            Height::DiameterMm(mm) => f64::from(mm),
        }
    }

    fn diameter_mm(&self, aspect_pct: u16) -> f64 {
        let section_height_mm = f64::from(self.width_mm) * f64::from(aspect_pct) / 100.0;
        f64::from(self.rim_code) * RIM_CODE_MM + 2.0 * section_height_mm
    }

    /// Wheel centre to road with the car's weight on it, mm: 0.96 of the free radius, a rule of thumb.
    ///
    /// Good to start with and for nothing else; the real one is measured at the car.
    ///
    /// Source: common practice in the trade. Tested by `loaded_radius_is_four_per_cent_less_than_free`.
    pub fn loaded_radius_mm(&self) -> f64 {
        LOADED_SHARE * self.free_diameter_mm() / 2.0
    }

    /// Nominal radius of the rim less its wall and drop centre, mm: the room for the upright, as a rule of thumb.
    pub fn rim_inside_radius_mm(&self) -> f64 {
        f64::from(self.rim_code) * RIM_CODE_MM / 2.0 - RIM_WALL_MM
    }

    /// Outside diameter of the rim over its flanges, mm, rounded to whole ones: where a tape is put for toe.
    pub fn rim_outside_diameter_mm(&self) -> f64 {
        (f64::from(self.rim_code) * RIM_CODE_MM + 2.0 * FLANGE_MM).round()
    }
}

/// The same size, however it is written.
impl PartialEq for Tyre {
    fn eq(&self, other: &Self) -> bool {
        let size = |of: &Self| (of.width_mm, of.height, of.construction, of.rim_code);
        size(self) == size(other)
    }
}

impl fmt::Display for Tyre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

impl FromStr for Tyre {
    type Err = TyreError;

    /// Reads the size, with or without the `C` of a van's tyre and load index and speed symbol behind it (`205/50R15 86V`,
    /// `195/70R15C 104/102R`), which say nothing about its dimensions.
    fn from_str(text: &str) -> Result<Self, TyreError> {
        let tyre = size(text).ok_or_else(|| TyreError::form(text))?;
        let within = |what, value, range: RangeInclusive<u16>| match range.contains(&value) {
            true => Ok(()),
            false => Err(TyreError { text: text.to_owned(), fault: Fault::Range { what, value, range } }),
        };
        within("section width in mm", tyre.width_mm, WIDTHS_MM)?;
        within("rim diameter in inches", tyre.rim_code, RIM_CODES)?;
        match tyre.height {
            Height::AspectPct(aspect_pct) => within("aspect ratio in per cent", aspect_pct, ASPECTS_PCT)?,
            Height::DiameterMm(mm) => {
                let of_aspect = |aspect_pct: &u16| tyre.diameter_mm(*aspect_pct).round() as u16;
                let range = of_aspect(RACING_ASPECTS_PCT.start())..=of_aspect(RACING_ASPECTS_PCT.end());
                within("overall diameter in mm", mm, range)?;
            }
        }
        Ok(tyre)
    }
}

/// The designation taken apart, of whatever size; `None` when it has not the form. Blanks may stand between its parts, and
/// `P`, `LT`, `ST` or `T` before it, `C` or `LT` behind it.
fn size(text: &str) -> Option<Tyre> {
    let written = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let text = text.trim().to_ascii_uppercase();
    let text = PREFIXES.iter().find_map(|prefix| text.strip_prefix(prefix)).unwrap_or(&text);
    let (first, rest) = leading(text, |c| c.is_ascii_digit() || c == '.');
    let (separator, rest) = leading(rest, |c| matches!(c, '/' | 'X'));
    let (second, rest) = leading(rest, |c| c.is_ascii_digit() || c == '.');
    let (letters, rest) = leading(rest, |c| !c.is_ascii_digit() && !c.is_whitespace());
    let (rim, service) = leading(rest, |c| c.is_ascii_digit());
    let construction = match letters {
        "R" => Construction::Radial,
        _ if letters.strip_suffix('R').is_some_and(|speed| SPEEDS.iter().any(|s| speed == s.to_string())) => {
            Construction::Radial
        }
        "D" | "-" => Construction::Diagonal,
        "B" => Construction::BiasBelted,
        // As many say it of a radial tyre: `205/50/15`.
        "/" if separator == "/" => Construction::Radial,
        _ => return None,
    };
    let (width_mm, height) = match separator {
        "" if second.is_empty() && construction == Construction::Radial => {
            (whole(first)?, Height::AspectPct(FULL_PROFILE_PCT))
        }
        "/" if MIN_MM <= first.parse().ok()? => {
            let height = whole(second)?;
            let is_diameter = height >= MIN_DIAMETER_MM;
            (whole(first)?, if is_diameter { Height::DiameterMm(height) } else { Height::AspectPct(height) })
        }
        // Only racing tyres have these, and they write a line before the rim.
        "/" if letters == "-" && is_in_cm(first, second, rim) => {
            (tenfold(first)?, Height::DiameterMm(tenfold(second)?))
        }
        "/" => (inches(first, WIDTHS_IN)?, Height::DiameterMm(inches(second, DIAMETERS_IN)?)),
        "X" => (inches(second, WIDTHS_IN)?, Height::DiameterMm(inches(first, DIAMETERS_IN)?)),
        _ => return None,
    };
    let service = service.strip_prefix('C').or_else(|| service.strip_prefix("LT")).unwrap_or(service);
    let ends =
        service.is_empty() || (service.starts_with(char::is_whitespace) && is_service_description(service.trim()));
    ends.then_some(Tyre { written, width_mm, height, construction, rim_code: whole(rim)? })
}

/// What a text begins with, and the rest; blanks before it do not count.
fn leading(text: &str, is_part: impl Fn(char) -> bool) -> (&str, &str) {
    let text = text.trim_start();
    text.split_at(text.len() - text.trim_start_matches(is_part).len())
}

/// A width and a diameter in cm, of a tyre with a racing tyre's wall on this rim.
fn is_in_cm(width: &str, diameter: &str, rim: &str) -> bool {
    let [Ok(width_cm), Ok(diameter_cm), Ok(rim_code)] = [width, diameter, rim].map(str::parse::<f64>) else {
        return false;
    };
    let wall_mm = 0.5 * (10.0 * diameter_cm - rim_code * RIM_CODE_MM);
    WIDTHS_CM.contains(&width_cm)
        && DIAMETERS_CM.contains(&diameter_cm)
        && wall_mm <= 0.01 * MAX_ASPECT_OF_CM_PCT * 10.0 * width_cm
}

/// Centimetres in whole mm.
fn tenfold(cm: &str) -> Option<u16> {
    cm.parse::<f64>().ok().map(|cm| (10.0 * cm).round() as u16)
}

/// In whole mm.
fn inches(text: &str, range: RangeInclusive<f64>) -> Option<u16> {
    let number: f64 = text.parse().ok()?;
    range.contains(&number).then(|| (number * RIM_CODE_MM).round() as u16)
}

/// A number of digits alone: `parse` would take a sign too.
fn whole(digits: &str) -> Option<u16> {
    digits.bytes().all(|b| b.is_ascii_digit()).then(|| digits.parse().ok()).flatten()
}

/// Load index and speed symbol, `86V`, `(86Y)` as above 300 km/h, or `104/102R` for one wheel and for twin wheels.
fn is_service_description(word: &str) -> bool {
    let bare = word.strip_prefix('(').and_then(|w| w.strip_suffix(')')).unwrap_or(word);
    let indices = bare.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let is_index = |index: &str| (2..=3).contains(&index.len()) && index.bytes().all(|b| b.is_ascii_digit());
    bare.len() == indices.len() + 1 && indices.splitn(2, '/').all(is_index)
}

/// A text that names no car tyre.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TyreError {
    text: String,
    fault: Fault,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Fault {
    Form,
    Range { what: &'static str, value: u16, range: RangeInclusive<u16> },
}

impl TyreError {
    fn form(text: &str) -> Self {
        Self { text: text.to_owned(), fault: Fault::Form }
    }
}

impl fmt::Display for TyreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.fault {
            Fault::Form => write!(
                f,
                "{:?} is no tyre size; write it as the sidewall has it: 205/50R15, 155/80D13, 165R13 or 195/70R15C; of a \
                 racing tyre with its diameter, 200/530R13 or 20.0x9.0-13",
                self.text
            ),
            Fault::Range { what, value, range } => write!(
                f,
                "tyre {:?}: {value} is no {what} of a car tyre ({} to {}); write the size as the sidewall has it, for \
                 example 205/50R15",
                self.text,
                range.start(),
                range.end()
            ),
        }
    }
}

impl Error for TyreError {}

#[cfg(test)]
mod tests {
    use super::Tyre;

    fn tyre(text: &str) -> Tyre {
        text.parse().expect(text)
    }

    fn refusal(text: &str) -> String {
        text.parse::<Tyre>().expect_err(text).to_string()
    }

    /// By hand, from the designation of ISO 4000-1: 15 · 25.4 = 381 and 205 · 0.50 = 102.5, so 381 + 205 = 586 mm;
    /// 10 · 25.4 = 254 and 145 · 0.80 = 116, so 254 + 232 = 486 mm; 20 · 25.4 = 508 and 335 · 0.30 = 100.5, so 709 mm.
    #[test]
    fn free_diameter_is_rim_and_two_sidewalls() {
        for (size, diameter_mm) in [("205/50R15", 586.0), ("145/80R10", 486.0), ("335/30R20", 709.0)] {
            assert!((tyre(size).free_diameter_mm() - diameter_mm).abs() < 1e-9, "{size}");
        }
    }

    /// By hand: half of 586 mm is 293 mm, and 0.96 of it 281.28 mm.
    #[test]
    fn loaded_radius_is_four_per_cent_less_than_free() {
        assert!((tyre("205/50R15").loaded_radius_mm() - 281.28).abs() < 1e-9);
    }

    /// By hand: 190.5 − 18.5 = 172 mm; 381 + 35 = 416 mm.
    #[test]
    fn rim_leaves_room_inside_and_has_a_flange_outside() {
        let tyre = tyre("205/50R15");
        assert!((tyre.rim_inside_radius_mm() - 172.0).abs() < 1e-9);
        assert!((tyre.rim_outside_diameter_mm() - 416.0).abs() < 1e-9);
    }

    #[test]
    fn load_index_and_speed_symbol_do_not_change_the_size() {
        let sizes = ["205/50R15 86V", " 205/50r15", "205/50ZR15", "205/50ZR15 (86Y)", "205/50R15 106W"];
        for size in sizes.into_iter().chain([
            "205/50 R15",
            "205 / 50 R 15 86V",
            "P205/50R15",
            "LT205/50R15",
            "205/50R15C",
            "205/50R15C 104/102R",
            "205/50VR15",
            "205/50 sr 15",
            "205/50HR15 86V",
            "ST205/50R15",
            "T205/50R15",
        ]) {
            assert_eq!(tyre(size), tyre("205/50R15"), "{size}");
        }
    }

    /// By hand: 20.0 · 25.4 = 508 mm and 9.0 · 25.4 = 228.6 mm; 8.2 · 25.4 = 208.3 mm.
    #[test]
    fn racing_tyres_have_their_diameter() {
        for (size, diameter_mm, metric) in [
            ("200/530R13", 530.0, "200/530R13"),
            ("180/550-13", 550.0, "180/550D13"),
            ("20.0x9.0-13", 508.0, "229/508D13"),
            ("8.2 / 20.0 - 13", 508.0, "208/508D13"),
            ("26x9.5-15", 660.0, "241/660D15"),
            ("31x10.50R15LT", 787.0, "267/787R15"),
        ] {
            assert_eq!(tyre(size).free_diameter_mm(), diameter_mm, "{size}");
            assert_eq!(tyre(metric), tyre(size), "{size}");
        }
        assert!(refusal("205/900R15").contains("900 is no overall diameter in mm of a car tyre (504 to 771)"));
    }

    /// By hand: 15 · 25.4 = 381 and 205 · 0.75 = 153.75, so 381 + 307.5 = 688.5 mm; 17 · 25.4 = 431.8 and 125 · 0.70 = 87.5, so
    /// 431.8 + 175 = 606.8 mm; 330.2 + 2 · 135.3 = 600.8 mm.
    #[test]
    fn sizes_of_trailers_of_spare_wheels_and_of_older_cars_are_read() {
        for (size, diameter_mm) in [("ST205/75R15", 688.5), ("T125/70D17", 606.8), ("165SR13", 600.8)] {
            assert!((tyre(size).free_diameter_mm() - diameter_mm).abs() < 1e-9, "{size}");
        }
    }

    /// 20 cm are 200 mm wide and 54 cm 540 mm high; 27 and 65 likewise.
    #[test]
    fn racing_tyres_in_centimetres_are_read() {
        assert_eq!(tyre("20/54-13"), tyre("200/540-13"));
        assert_eq!(tyre("27 / 65 - 18"), tyre("270/650-18"));
        assert_eq!(tyre("20/54-13").free_diameter_mm(), 540.0);
        // With a digit missing 205/60R15, 205/50R15, 195/70-13 and 155/80-13 are none.
        for size in ["20/60R15", "20/50R15", "20/54R13", "19/70-13", "15/80-13", "54/20-13"] {
            assert!(refusal(size).contains("is no tyre size"), "{size}");
        }
    }

    /// By hand: 381 mm of rim and two walls of 30 % of 205 mm are 504 mm; a nought too many makes 500 of 50.
    #[test]
    fn a_racing_tyre_without_a_wall_is_refused() {
        assert!(refusal("205/500R15").contains("500 is no overall diameter in mm of a car tyre (504 to 771)"));
        for size in ["205/510R15", "325/680R18", "310/710R18", "180/500R13"] {
            assert_eq!(tyre(size).to_string(), size);
        }
    }

    /// By hand: 13 · 25.4 = 330.2 and 165 · 0.82 = 135.3, so 330.2 + 270.6 = 600.8 mm.
    #[test]
    fn a_tyre_without_an_aspect_ratio_has_full_profile() {
        assert!((tyre("165R13").free_diameter_mm() - 600.8).abs() < 1e-9);
        assert_eq!(tyre("165 R 13 82S"), tyre("165/82R13"));
        assert_eq!(tyre("175R14C 99/98R"), tyre("175/82R14"));
    }

    #[test]
    fn a_size_is_told_as_it_was_written() {
        for size in ["205/50R15", "155/80-13", "175/70B14", "26x9.5-15", "31x10.50R15LT", "205/50/15", "165 R 13 82S"] {
            assert_eq!(tyre(size).to_string(), size);
        }
        assert_eq!(tyre("  205/50\t r15\n").to_string(), "205/50 r15");
        assert_eq!(tyre("155/80-13"), tyre("155/80D13"));
        assert_eq!(tyre("205/50/15"), tyre("205/50R15"));
        assert_ne!(tyre("155/80D13"), tyre("155/80R13"));
    }

    #[test]
    fn what_is_no_size_is_refused_with_the_form_to_write() {
        let nonsense = [
            "",
            "205",
            "205/50",
            "205/50R",
            "205-50-15",
            "205/50X15",
            "+205/50R15",
            "205/50R15V",
            "205/50R15CC",
            "205/50R15 104/102/100R",
            "165-13",
            "205/50R15 86V XL",
            "205/50QR15",
            "205/50VVR15",
            "205/50VD15",
            "S205/50R15",
            "TP205/50R15",
            "205/50R15 V",
            "205/50R15 8V",
            "20.5/50R15",
            "205/R15",
            "99999/50R15",
            "205/50Ř15",
            "205/50R15.5",
        ];
        for text in nonsense {
            let said = refusal(text);
            assert!(
                said.contains("is no tyre size; write it as the sidewall") && said.ends_with("20.0x9.0-13"),
                "{said}"
            );
        }
    }

    #[test]
    fn a_size_beyond_any_car_names_the_number_and_the_range() {
        assert!(refusal("2050/50R15").contains("2050 is no section width in mm of a car tyre (105 to 455)"));
        assert!(refusal("205/150R15").contains("150 is no aspect ratio in per cent of a car tyre (20 to 95)"));
        assert!(refusal("205/50R381").contains("381 is no rim diameter in inches of a car tyre (8 to 24)"));
    }
}
