//! A CSV table as its cells stand in the file.

pub struct Table {
    pub columns: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl Table {
    pub fn of(text: &str) -> Self {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let cells = |record: &csv::StringRecord| -> Vec<String> { record.iter().map(str::to_owned).collect() };
        let columns = cells(reader.headers().expect("a header"));
        Self { columns, rows: reader.records().map(|record| cells(&record.expect("a whole row"))).collect() }
    }

    pub fn column(&self, name: &str) -> Vec<&str> {
        let at = self.columns.iter().position(|column| column == name);
        let at = at.unwrap_or_else(|| panic!("no column {name} among {:?}", self.columns));
        self.rows.iter().map(|row| row[at].as_str()).collect()
    }

    pub fn numbers(&self, name: &str) -> Vec<f64> {
        self.column(name).into_iter().map(|cell| cell.parse().expect("a number")).collect()
    }

    /// The number of a column in one row.
    pub fn number_at(&self, name: &str, row: usize) -> f64 {
        self.column(name)[row].parse().expect("a number")
    }

    /// The numbers of a column in the rows of one side.
    pub fn of_side(&self, side: &str, name: &str) -> Vec<f64> {
        let sides = self.column("side").into_iter();
        sides.zip(self.numbers(name)).filter(|(of, _)| *of == side).map(|(_, number)| number).collect()
    }
}
