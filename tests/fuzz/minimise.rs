//! The shortest file that fails as a long one does.

/// Takes out ever shorter pieces of lines while `fails` still holds.
pub fn minimised(text: &str, fails: impl Fn(&str) -> bool) -> String {
    let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
    let mut piece = lines.len().div_ceil(2);
    while piece > 0 {
        let mut at = 0;
        let mut shorter = false;
        while at < lines.len() {
            let rest: Vec<&str> = lines.iter().take(at).chain(lines.iter().skip(at + piece)).copied().collect();
            if fails(&rest.concat()) {
                (lines, shorter) = (rest, true);
            } else {
                at += piece;
            }
        }
        if !shorter {
            piece /= 2;
        }
    }
    lines.concat()
}

#[test]
fn what_is_not_needed_to_fail_is_taken_out() {
    let text: String = (0..40).map(|line| format!("line {line}\n")).collect();
    let fails = |text: &str| text.contains("line 7\n") && text.contains("line 31\n");
    assert_eq!(minimised(&text, fails), "line 7\nline 31\n");
    assert_eq!(minimised("all of it", |_| true), "");
}
