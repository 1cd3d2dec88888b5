//! Numbers that a person reads off the page, and where its points are.

use crate::chromium::Chromium;

/// The width of the front view, mm, and its middle at the left wheel: y and z.
const WIDE_MM: f64 = 1200.0;
const MIDDLE_MM: [f64; 2] = [480.0, 270.0];

impl Chromium {
    /// A coordinate of the picked point, mm.
    pub fn coordinate(&mut self, axis: &str) -> f64 {
        let text = self.value(&format!("document.querySelector('#at-{axis}').value"));
        text.as_str().and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("no number: {text}"))
    }

    pub fn pick(&mut self, point: &str) {
        self.value(&format!(
            "(() => {{ const list = document.querySelector('#point');
              list.value = [...list.options].find((option) => option.text === {point:?}).value;
              list.dispatchEvent(new Event('change')); }})()"
        ));
    }

    /// What the table of limits says of a quantity.
    pub fn limit(&mut self, name: &str) -> String {
        let found = self.value(&format!(
            "[...document.querySelectorAll('#limits tbody tr')].find((row) => row.children[0].textContent === {name:?})
              .children[1].textContent"
        ));
        found.as_str().unwrap_or_else(|| panic!("no limit {name}")).to_owned()
    }

    /// Pixel of a place in the front view, with pixels in a millimetre.
    pub fn front_pixel(&mut self, y_mm: f64, z_mm: f64) -> ((f64, f64), f64) {
        self.value("document.querySelector('#picture').scrollIntoView()");
        let area = self.value(
            "(() => { const box = document.querySelector('#picture'), a = box.getBoundingClientRect();
              return [a.left + box.clientLeft + box.clientWidth / 2, a.top + box.clientTop + box.clientHeight / 2, box.clientWidth]; })()",
        );
        let [x, y, wide] = [0, 1, 2].map(|k| area[k].as_f64().expect("a number"));
        let scale = wide / WIDE_MM;
        ((x + (y_mm - MIDDLE_MM[0].copysign(y_mm)) * scale, y - (z_mm - MIDDLE_MM[1]) * scale), scale)
    }

    /// Holds a button on a point in the front view; the pixel where that is.
    pub fn take(&mut self, point: &str) -> (f64, f64) {
        self.pick(point);
        self.click("[data-view=front]");
        let [y, z] = ["y", "z"].map(|axis| self.coordinate(axis));
        let (at, _) = self.front_pixel(y, z);
        self.mouse("mouseMoved", at, 0);
        self.mouse("mousePressed", at, 1);
        at
    }
}
