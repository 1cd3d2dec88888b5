//! `hubtrace tolerance`: what the welds will do to the drawing, and the way out.

mod screen;

use std::borrow::Cow;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use clap::{Args, ValueEnum};

use crate::geometry::{Geometry, Side, Weld};
use crate::outputs::{
    CarShown, ChartSource, ToleranceSummary, sensitivity_csv, sha256_hex, summary_json, tolerance_charts, tolerance_csv,
};
use crate::plain_text::plain;
use crate::present::{LengthFormat, rounded, words};
use crate::studies::errors::{ErrorSource, WeldClass};
use crate::studies::tolerance::{
    LinksAfterWelding, NoLastBracket, NoTolerance, NoWheelModel, ToleranceFindings, ToleranceRequest,
    USUAL_GAUGE_SD_DEG, USUAL_JIG_SD_MM, USUAL_PLACING_SD_MM, Watch,
};
use crate::studies::{JudgedCar, Rig};

use super::failure::Failure;
use super::interrupts::Interrupts;
use super::options::{BuiltCarsArgs, StudyArgs, TravelArgs, note_read_in_mm, number};
use super::{Outcome, Terminal, load, progress};

/// Build many cars with weld errors and tell the chance that yours passes; say what each millimetre does and what to jig
#[derive(Debug, Args)]
pub struct ToleranceArgs {
    /// Geometry file; the built-in demo car when none is given
    pub file: Option<PathBuf>,
    #[command(flatten)]
    pub study: StudyArgs,
    #[command(flatten)]
    pub built: BuiltCarsArgs,
    /// One standard deviation of each coordinate of each pickup, mm, in place of `sd` in [weld]
    #[arg(long, value_name = "MM", value_parser = sd_mm, allow_negative_numbers = true)]
    pub sd: Option<f64>,
    /// Class of ISO 13920 (linear dimensions) in place of [weld]: half its tolerance is one standard deviation
    #[arg(long, value_enum, ignore_case = true, conflicts_with = "sd")]
    pub class: Option<Class>,
    /// What is done about the links once the brackets are welded
    #[arg(long, value_enum, default_value_t = LinksArg::Adjusted)]
    pub links: LinksArg,
    /// Weld the inner bracket of one link last, after gauging the toe curve: --last="toe link", or the best one when
    /// none is named
    #[arg(long, value_name = "LINK", num_args = 0..=1, require_equals = true)]
    pub last: Option<Option<String>>,
    /// One standard deviation of a toe reading, deg, for the last bracket
    #[arg(long, value_name = "DEG", default_value_t = USUAL_GAUGE_SD_DEG, value_parser = gauge_deg, allow_negative_numbers = true)]
    pub gauge: f64,
    /// One standard deviation of the last bracket's own place after welding, mm
    #[arg(long, value_name = "MM", default_value_t = USUAL_PLACING_SD_MM, value_parser = placing_mm, allow_negative_numbers = true)]
    pub placing: f64,
    /// One standard deviation of what a jig holds, mm
    #[arg(long, value_name = "MM", default_value_t = USUAL_JIG_SD_MM, value_parser = sd_mm, allow_negative_numbers = true)]
    pub jig: f64,
    #[command(flatten)]
    pub travel: TravelArgs,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Class {
    A,
    B,
    C,
    D,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LinksArg {
    /// Adjusted until the wheel stands as drawn
    Adjusted,
    /// Cut to their drawn length
    Cut,
}

impl ToleranceArgs {
    /// The lengths that were given, mm; one as it is anyway counts as not given.
    fn lengths(&self) -> [(&'static str, Option<f64>); 3] {
        let given = |mm: f64, usual_mm: f64| Some(mm).filter(|mm| *mm != usual_mm);
        [
            ("--sd", self.sd),
            ("--placing", given(self.placing, USUAL_PLACING_SD_MM)),
            ("--jig", given(self.jig, USUAL_JIG_SD_MM)),
        ]
    }
}

/// A name behind `--last` without its `=`: it would be taken for the file.
pub fn last_without_equals(args: &[OsString]) -> Option<Failure> {
    let words: Vec<Cow<'_, str>> = args.iter().map(|word| word.to_string_lossy()).collect();
    let at =
        words.iter().position(|word| word == "--last").filter(|_| words.get(1).is_some_and(|w| w == "tolerance"))?;
    let is_file = |word: &str| word.ends_with(".toml") || Path::new(word).exists();
    let name = words.get(at + 1).filter(|word| !word.starts_with('-') && !is_file(word))?;
    let name = plain(name);
    let advice = format!("write --last=\"{name}\", or --last alone for the best bracket");
    Some(Failure::input(format!("\"{name}\" stands behind --last without ="), advice))
}

pub fn run(args: &ToleranceArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let file = load::geometry(args.file.as_deref(), args.study.output.quiet, terminal)?;
    load::note_doubts(&file, args.file.as_deref(), args.study.output.quiet, terminal);
    load::note_left_out(&file, args.file.as_deref(), args.study.output.quiet, terminal);
    let geometry = args.travel.over(&file.geometry, args.study.output.quiet, terminal)?;
    note_read_in_mm(file.geometry.units, &args.lengths(), args.study.output.quiet, terminal);
    let rig = Rig::new(&geometry).map_err(|singular| load::singular(&file, singular.side))?;
    let sides = args.study.side.sides();
    let request = request(&geometry, args)?;
    let interrupts = Interrupts::from_now(terminal.owns_process);
    let built = AtomicUsize::new(0);
    let count = |cars| {
        built.fetch_add(cars, Ordering::Relaxed);
    };
    let watch = Watch { stop: &|| interrupts.came(), built: &count };
    let so_far = || match built.load(Ordering::Relaxed) {
        cars if cars < request.cars => format!("{cars} of {} cars built (Ctrl-C keeps what is done)", request.cars),
        _ => "looking for the best bracket and jigs (Ctrl-C leaves them out)".to_owned(),
    };
    let study = || ToleranceFindings::watched(JudgedCar::of(rig), sides, request.clone(), watch);
    let found = progress::showing(terminal, args.study.output.quiet, so_far, study).map_err(|why| match why {
        NoTolerance::TooManyRows { rows, most } => {
            let what = format!("these steps make {rows} rows of bump and droop; a weld study takes up to {most}");
            if geometry.travel == file.geometry.travel {
                let advice = "write a longer `step`; 5 mm is fine enough for any chart";
                return file.problem_at_key(Side::Left, &["travel", "step"], &what, advice).into();
            }
            Failure::input(what, "give a longer --step; 5 mm is fine enough for any chart")
        }
        NoTolerance::TooManyCars { rows, most } => Failure::input(
            format!(
                "{} cars of {rows} rows of bump and droop each are too many; up to {most} can be built",
                args.built.cars
            ),
            "give fewer --cars or a longer --step; 10000 cars tell a chance to one per cent",
        ),
        NoTolerance::NotMovable(NoWheelModel::Singular { side }) => load::singular(&file, side).into(),
        NoTolerance::NotMovable(NoWheelModel::Binds { side, bind }) => binds_as_drawn(&geometry, side, bind.at_bump_mm),
        NoTolerance::NoLastBracket { link, why } => useless_bracket(&geometry, &link, &why),
        NoTolerance::NothingFlattens => Failure::input(
            "no bracket can flatten the toe curve: moving them changes toe next to nothing",
            "leave --last out; `hubtrace check` shows how the links lie",
        ),
    })?;
    let input_sha256 = sha256_hex(file.text.as_bytes());
    let summary = summary_json(&ToleranceSummary::of(&found), &input_sha256).map_err(Failure::unwritable)?;

    let mut folder = args.study.results("tolerance", args.file.as_deref(), &file);
    let effects: Vec<_> = sides.iter().map(|&side| (geometry.corner(side), &found.sensitivities[side])).collect();
    folder.add("sensitivity.csv", sensitivity_csv(&effects).map_err(Failure::unwritable)?);
    folder.add("tolerance.csv", tolerance_csv(&found.study, sides).map_err(Failure::unwritable)?);
    let source = ChartSource { file: &file.source, input_sha256: &input_sha256, car: CarShown::Welded };
    let drawn = tolerance_charts(&found, source).map_err(Failure::unwritable)?;
    drawn.into_iter().for_each(|(name, svg)| folder.add(name, svg));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&args.study.output.out, args.study.output.force)?;

    let screen = screen::Screen { file: &file, found: &found };
    args.study.output.tell(terminal, &summary, || screen.text(&written))?;
    Ok(Outcome::of(&found.car, sides))
}

fn request(geometry: &Geometry, args: &ToleranceArgs) -> Result<ToleranceRequest, Failure> {
    let links = match (args.links, &args.last) {
        (LinksArg::Cut, Some(_)) => {
            return Err(Failure::input(
                "--last gauges and places a bracket with adjusted links, but --links says cut",
                "leave one of the two out",
            ));
        }
        (LinksArg::Cut, None) => LinksAfterWelding::Cut,
        (LinksArg::Adjusted, None) => LinksAfterWelding::Adjusted,
        (LinksArg::Adjusted, Some(link)) => LinksAfterWelding::LastBracket(link.clone()),
    };
    Ok(ToleranceRequest {
        cars: args.built.cars as usize,
        seed: args.built.seed,
        errors: errors(geometry, args),
        links,
        gauge_sd_deg: args.gauge,
        placing_sd_mm: args.placing,
        jig_sd_mm: args.jig,
    })
}

fn errors(geometry: &Geometry, args: &ToleranceArgs) -> ErrorSource {
    let class = |class: Class| match class {
        Class::A => WeldClass::A,
        Class::B => WeldClass::B,
        Class::C => WeldClass::C,
        Class::D => WeldClass::D,
    };
    match (args.class, ErrorSource::of_file(geometry.weld.as_ref())) {
        (Some(named), _) => ErrorSource::Class(class(named)),
        (None, ErrorSource::Weld(weld)) => ErrorSource::Weld(Weld { sd_mm: args.sd.unwrap_or(weld.sd_mm), ..weld }),
        (None, of_class) => of_class,
    }
}

fn binds_as_drawn(geometry: &Geometry, side: Side, at_bump_mm: f64) -> Failure {
    let way = if at_bump_mm < 0.0 { "droop" } else { "bump" };
    let at = LengthFormat(geometry.units).with_unit(at_bump_mm.abs());
    Failure::mechanism(
        format!("the {} side binds {}, at {at} of {way}", side.name(), words::stage(geometry)),
        format!(
            "nothing was built; `hubtrace sweep` shows the rows before it; reduce `{way}` in [travel] or move a link"
        ),
    )
}

fn useless_bracket(geometry: &Geometry, link: &str, why: &NoLastBracket) -> Failure {
    match why {
        NoLastBracket::NoSuchLink { side } => {
            let links = &geometry.corner(*side).links;
            let names: Vec<String> = links.iter().map(|link| format!("{:?}", link.name)).collect();
            Failure::input(
                format!("--last: no link of the {} side is called {link:?}", side.name()),
                format!("write one of {}", names.join(", ")),
            )
        }
        NoLastBracket::ChangesNothing { side, deg_per_mm } => Failure::input(
            format!("--last: the inner bracket of {link:?} cannot flatten the toe curve of the {} side", side.name()),
            format!(
                "a millimetre in its plane changes toe by {} deg at most; name another link; --last without a \
                 name finds the best",
                rounded(*deg_per_mm, 4)
            ),
        ),
    }
}

fn sd_mm(text: &str) -> Result<f64, String> {
    number(text, f64::MIN_POSITIVE..=50.0, "write millimetres above 0, up to 50, for example 0.5")
}

fn placing_mm(text: &str) -> Result<f64, String> {
    number(text, 0.0..=50.0, "write millimetres from 0 to 50, for example 0.2")
}

fn gauge_deg(text: &str) -> Result<f64, String> {
    number(text, 0.0..=5.0, "write degrees from 0 to 5, for example 0.01")
}
