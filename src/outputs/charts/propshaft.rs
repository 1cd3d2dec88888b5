//! The propeller shaft: its speed over one turn, and where its spans whirl.

use super::caption::Caption;
use super::context::ChartContext;
use super::frame::{CHART, Frame, Limit, PANEL};
use super::labels::Area;
use super::scale::{Scale, short};
use super::sheet::PenError;
use super::stroke::Stroke;
use crate::geometry::ShaftJointKind;
use crate::present::driveline as words;
use crate::studies::driveline::PropshaftFindings;

/// Room at the right for the names of curves.
const NAMED_PANEL: Area = Area { right: 700.0, ..PANEL };
/// Rows of the critical speeds stand this far from the ends of the axis, in rows.
const ROOM: f64 = 0.8;

/// Speed of every shaft behind the gearbox over one turn, less its mean.
pub fn ripple(context: &ChartContext, found: &PropshaftFindings) -> Result<String, PenError> {
    let as_drawn = || found.turns.iter().filter(|row| row.case.is_none());
    let last = found.joints.len();
    let path = |shaft: usize| -> Vec<Option<(f64, f64)>> {
        let rows = as_drawn().filter(move |row| row.after_joint == shaft);
        rows.map(|row| Some((row.turn_deg, 100.0 * (row.speed_over_mean - 1.0)))).collect()
    };
    let (verdict, notes) = (words::ripple(&found.motion), vec![words::phasing(found)]);
    let title = "Propeller shaft: speed over one turn of the gearbox output";
    Caption { title, verdict, notes }.sheet(&context.subject, CHART, |sheet| {
        let across = Scale::covering([0.0, 360.0], 360.0, 12.0);
        let values = as_drawn().map(|row| 100.0 * (row.speed_over_mean - 1.0));
        let up = Scale::covering(values, 0.02, 12.0);
        let up_title = "speed over its mean, %";
        let across_title = "turn of the gearbox output, deg (0: first input fork in the plane of its shafts)";
        let mut frame = Frame::new(sheet, NAMED_PANEL, (across, across_title), (up, up_title))?;
        frame.baseline_up(0.0)?;
        let mut names = Vec::new();
        // Behind anything but a universal joint a shaft turns as the one before it.
        let is_uneven = |shaft: &usize| *shaft == last || found.joints[shaft - 1] == ShaftJointKind::Universal.name();
        for shaft in (1..=last).filter(is_uneven) {
            let points = path(shaft);
            let stroke = if shaft == last { Stroke::CURVE } else { Stroke::PALE_DASHED };
            frame.curve(&points, stroke)?;
            let name = if shaft == last { "final drive".to_owned() } else { format!("behind joint {shaft}") };
            names.push((name, points.last().copied().flatten()));
        }
        frame.names_beside(&names)
    })
}

/// The critical speed of every span beside the highest speed of the shaft.
pub fn critical(context: &ChartContext, found: &PropshaftFindings) -> Result<String, PenError> {
    let mut notes = vec![
        "Ring: first bending critical speed of a span, its yokes left out; it falls with every gram on the shaft."
            .to_owned(),
    ];
    notes.extend(words::orbits(found));
    let title = "Propeller shaft: highest speed against critical speed";
    let verdict = words::critical_speeds(context.lengths(), found);
    Caption { title, verdict, notes }.sheet(&context.subject, CHART, |sheet| {
        let line = |value: f64, what: &str| Limit { value, label: format!("{what} {} rpm", short(value, 0)) };
        let wanted = found.wanted_critical_rpm.map(|rpm| line(rpm, "wanted above"));
        let limits: Vec<Limit> = found.rpm.map(|rpm| line(rpm, "highest speed")).into_iter().chain(wanted).collect();
        let speeds = found.spans.iter().filter_map(|span| span.critical_rpm);
        let values = speeds.chain(limits.iter().map(|limit| limit.value)).chain([0.0]);
        let across = Scale::covering(values, 1000.0, 10.0);
        let count = found.spans.len() as f64;
        let up = Scale::covering([1.0 - ROOM, count + ROOM], 1.0, count + 1.0);
        let mut frame =
            Frame::new(sheet, PANEL, (across, "speed of the shaft, rpm"), (up, "span, counted from the gearbox"))?;
        frame.limits_across(&limits)?;
        frame.name_limits_across(&limits)?;
        for (number, span) in (1..).zip(&found.spans) {
            let [first, last] = span.joints;
            if let Some(rpm) = span.critical_rpm {
                let words = format!("joints {first} to {last}: {} rpm", short(rpm, 0));
                frame.ring((rpm, f64::from(number)))?;
                frame.name_ring((rpm, f64::from(number)), &words)?;
            }
        }
        Ok(())
    })
}
