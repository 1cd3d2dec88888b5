//! The lines of a CSV text, each with its fields and where they stand.

use csv::{ReaderBuilder, Trim};

use crate::file::reader::Span;

/// One line that says something.
pub(super) struct CsvLine<'t> {
    text: &'t str,
    start: usize,
    pub(super) fields: Vec<String>,
}

impl CsvLine<'_> {
    /// Bytes of the text that a field takes; the whole line where it has no such field.
    pub(super) fn span(&self, field: usize) -> Span {
        let ends = separators(self.text).chain([self.text.len()]);
        let starts = std::iter::once(0).chain(separators(self.text).map(|at| at + 1));
        let found = starts.zip(ends).nth(field).filter(|_| field < self.fields.len());
        let (from, to) = found.unwrap_or((0, self.text.len()));
        let blank = self.text[from..to].len() - self.text[from..to].trim_start().len();
        self.start + from + blank.min(to - from)..self.start + to
    }

    /// Of the line.
    pub(super) fn whole(&self) -> Span {
        self.start..self.start + self.text.len()
    }

    /// A semicolon or a tab that stands where commas should.
    pub(super) fn other_separator(&self) -> Option<&'static str> {
        let separators = [(';', "semicolons"), ('\t', "tabs")];
        separators.into_iter().find(|(c, _)| self.fields.len() == 1 && self.text.contains(*c)).map(|(_, name)| name)
    }
}

/// Places of the commas outside of quotes.
fn separators(line: &str) -> impl Iterator<Item = usize> + '_ {
    let mut quoted = false;
    line.bytes().enumerate().filter_map(move |(at, byte)| {
        quoted ^= byte == b'"';
        (byte == b',' && !quoted).then_some(at)
    })
}

/// The lines of a text without blank ones and comments. A field ends on the line on which it begins.
pub(super) fn lines(text: &str) -> impl Iterator<Item = CsvLine<'_>> {
    let mut start = 0;
    text.split_inclusive('\n').filter_map(move |line| {
        let at = start;
        start += line.len();
        let text = line.trim_end_matches(['\n', '\r']);
        let is_comment = text.trim_start_matches(['"', ' ', '\t']).starts_with('#');
        let fields = if is_comment { Vec::new() } else { fields(text) };
        fields.iter().any(|field| !field.is_empty()).then_some(CsvLine { text, start: at, fields })
    })
}

/// Fields of one line, the blanks around them and the empty ones behind the last left out.
fn fields(line: &str) -> Vec<String> {
    let mut reader =
        ReaderBuilder::new().has_headers(false).flexible(true).trim(Trim::All).from_reader(line.as_bytes());
    let record = reader.records().next().and_then(Result::ok);
    let mut fields: Vec<String> = record.iter().flatten().map(str::to_owned).collect();
    while fields.last().is_some_and(String::is_empty) {
        fields.pop();
    }
    fields
}

#[cfg(test)]
mod tests {
    use super::lines;

    #[test]
    fn comments_and_blank_lines_are_passed_over_and_every_field_knows_its_place() {
        let text = "# by hand\r\n\r\nside, bump_mm ,\"toe, deg\",,\r\n,,\n\"# more\",1\nleft,-60,";
        let found: Vec<_> = lines(text).collect();
        assert_eq!(found.len(), 2);
        assert_eq!(found[0].fields, ["side", "bump_mm", "toe, deg"]);
        assert_eq!([0, 1, 2].map(|k| &text[found[0].span(k)]), ["side", "bump_mm ", "\"toe, deg\""]);
        assert_eq!((&text[found[1].span(1)], &text[found[1].span(7)]), ("-60", "left,-60,"));
        assert_eq!(found[0].fields.len(), 3);
    }

    #[test]
    fn other_separators_are_told() {
        let of = |text| lines(text).next().and_then(|line| line.other_separator());
        assert_eq!(
            [of("side;bump_mm;toe_deg"), of("side\tbump_mm"), of("side,a;b")],
            [Some("semicolons"), Some("tabs"), None]
        );
    }
}
