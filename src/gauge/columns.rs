//! The columns of a file of readings, and which instrument they are of.

use super::csv_text::CsvLine;
use super::model::Instrument;
use crate::file::reader::{Span, nearest, shown};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Column {
    Side,
    Bump,
    Session,
    Toe,
    Camber,
    Front,
    Rear,
    Wall,
}

impl Column {
    const ALL: [Column; 8] = [
        Column::Side,
        Column::Bump,
        Column::Session,
        Column::Toe,
        Column::Camber,
        Column::Front,
        Column::Rear,
        Column::Wall,
    ];

    /// As the head of the file has it.
    pub(super) fn name(self) -> &'static str {
        match self {
            Column::Side => "side",
            Column::Bump => "bump_mm",
            Column::Session => "session",
            Column::Toe => "toe_deg",
            Column::Camber => "camber_deg",
            Column::Front => "front_mm",
            Column::Rear => "rear_mm",
            Column::Wall => "wall_mm",
        }
    }

    /// What shows such a number, and how the command line says that it was used.
    fn instrument(self) -> Option<(&'static str, &'static str)> {
        match self {
            Column::Side | Column::Bump | Column::Session => None,
            Column::Toe | Column::Camber => Some((
                "a gauge that shows degrees",
                "leave --plate, --zero, --wall and --beam out, or take the column out",
            )),
            Column::Front | Column::Rear => Some((
                "two dials on a plate",
                "give --plate WIDTH_MM, the distance of the dials, and --zero when they were set to zero at design height",
            )),
            Column::Wall => Some((
                "a laser on the wheel",
                "give --wall DISTANCE_MM, from the wheel centre to the wall, and --beam forward or spindle",
            )),
        }
    }
}

impl Instrument {
    /// Columns that its readings need, and those that they may have.
    fn columns(&self) -> (&'static [Column], &'static [Column]) {
        match self {
            Instrument::Angle => (&[Column::Side, Column::Bump, Column::Toe], &[Column::Camber, Column::Session]),
            Instrument::Plate { .. } => {
                (&[Column::Side, Column::Bump, Column::Front, Column::Rear], &[Column::Session])
            }
            Instrument::Wall { .. } => (&[Column::Side, Column::Bump, Column::Wall], &[Column::Session]),
        }
    }
}

/// Which field of a line is which column.
pub(super) struct Header(Vec<Column>);

/// Something wrong with the head of the file.
pub(super) type Mistake = (Span, String, String);

impl Header {
    /// The columns by their names, in any order, or everything that is wrong with them.
    pub(super) fn read(line: &CsvLine, instrument: &Instrument) -> Result<Self, Vec<Mistake>> {
        let (needed, optional) = instrument.columns();
        let names: Vec<&str> = needed.iter().chain(optional).map(|column| column.name()).collect();
        if let Some(separator) = line.other_separator() {
            let advice = "save it as CSV with commas between the columns and a point in each number";
            return Err(vec![(
                line.whole(),
                format!("the columns are separated by {separator}, not by commas"),
                advice.into(),
            )]);
        }
        if line.fields.iter().any(|field| ["left", "right", "both"].contains(&field.as_str())) {
            let advice = format!("write a line with the names above the readings: {}", names.join(","));
            return Err(vec![(
                line.whole(),
                "the first line has readings, not the names of the columns".into(),
                advice,
            )]);
        }
        let (mut columns, mut mistakes) = (Vec::new(), Vec::new());
        for (k, field) in line.fields.iter().enumerate() {
            let found = Column::ALL.into_iter().find(|column| column.name() == field.to_lowercase());
            let known = found.filter(|column| needed.contains(column) || optional.contains(column));
            let mistake = match (found, known) {
                (_, Some(column)) if columns.contains(&column) => {
                    Some((format!("column {field:?} stands twice"), "take one of the two out".to_owned()))
                }
                (_, Some(column)) => {
                    columns.push(column);
                    None
                }
                (Some(other), None) => other.instrument().map(|(what, advice)| {
                    (format!("{field:?} is a reading of {what}, and not what the command line says"), advice.to_owned())
                }),
                (None, None) => Some((format!("unknown column {}", shown(field)), unknown_advice(field, &names))),
            };
            mistakes.extend(mistake.map(|(what, advice)| (line.span(k), what, advice)));
        }
        // One that was only misspelt, or that another instrument stands for, is not lacking too.
        if mistakes.is_empty() {
            let lacking = needed.iter().filter(|column| !columns.contains(column)).map(|column| {
                let advice =
                    format!("the columns are {}; in any order, {} may be left out", names.join(", "), listed(optional));
                (line.whole(), format!("there is no column {:?}", column.name()), advice)
            });
            mistakes.extend(lacking);
        }
        if mistakes.is_empty() { Ok(Self(columns)) } else { Err(mistakes) }
    }

    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    /// The field of a line that holds a column, empty ones left out.
    pub(super) fn field<'l>(&self, line: &'l CsvLine, column: Column) -> Option<(&'l str, Span)> {
        let at = self.0.iter().position(|other| *other == column)?;
        let text = line.fields.get(at).filter(|text| !text.is_empty())?;
        Some((text, line.span(at)))
    }
}

fn unknown_advice(field: &str, names: &[&str]) -> String {
    match nearest(field, names) {
        Some(near) => format!("write {near}"),
        None => format!("take it out; the columns are {}", names.join(", ")),
    }
}

fn listed(columns: &[Column]) -> String {
    columns.iter().map(|column| column.name()).collect::<Vec<_>>().join(" and ")
}
