//! Who may come in from another device: the code of the terminal, used once, then a cookie.

use std::sync::{Mutex, PoisonError};

use axum::http::{HeaderMap, header};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use sha2::{Digest, Sha256};

/// Letters and digits that no one mistakes for another.
const LETTERS: &[u8] = b"23456789ABCDEFGHJKMNPQRSTUVWXYZ";
/// Of them: 31^8 is 8·10¹¹ codes for [`MAX_WRONG`] tries.
const CODE_LENGTH: usize = 8;
/// After so many wrong codes no code is taken any more.
const MAX_WRONG: u32 = 5;
const COOKIE: &str = "hubtrace";
const TOKEN_BYTES: usize = 32;

/// What the terminal tells of those who try to come in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EntryEvent {
    /// A device is in; the code for another one.
    CameIn {
        /// To be shown.
        next_code: String,
    },
    /// A wrong code, and how many more may be wrong.
    WrongCode {
        /// Before no code is taken any more.
        left: u32,
    },
}

/// What came of a code.
#[derive(Debug)]
pub(super) enum Entered {
    /// The value of `Set-Cookie`.
    In {
        cookie: String,
    },
    /// It let a device in before; this counts for no wrong one.
    Used,
    Wrong {
        left: u32,
    },
    /// Too many were wrong.
    Closed,
}

/// The code that is asked for, and those who are in.
#[derive(Debug)]
pub(super) struct Entry(Mutex<Inside>);

#[derive(Debug)]
struct Inside {
    random: StdRng,
    code: [u8; CODE_LENGTH],
    wrong: u32,
    /// Digests of the codes that let a device in.
    used: Vec<[u8; 32]>,
    /// Digests of the cookies.
    tokens: Vec<[u8; 32]>,
    events: Vec<EntryEvent>,
}

impl Entry {
    /// With a code from the random numbers of the operating system.
    pub(super) fn new() -> Self {
        let mut random = StdRng::from_os_rng();
        let code = new_code(&mut random);
        Self(Mutex::new(Inside { random, code, wrong: 0, used: Vec::new(), tokens: Vec::new(), events: Vec::new() }))
    }

    /// As the terminal shows it.
    pub(super) fn code(&self) -> String {
        shown(&self.lock().code)
    }

    /// What happened since this was asked last.
    pub(super) fn events(&self) -> Vec<EntryEvent> {
        std::mem::take(&mut self.lock().events)
    }

    /// Small letters, blanks and hyphens make no difference.
    pub(super) fn enter(&self, typed: &str) -> Entered {
        let mut inside = self.lock();
        if inside.wrong >= MAX_WRONG {
            return Entered::Closed;
        }
        let letters = typed.bytes().filter(u8::is_ascii_alphanumeric).map(|letter| letter.to_ascii_uppercase());
        let typed: Vec<u8> = letters.take(2 * CODE_LENGTH).collect();
        let typed = digest(&typed);
        if inside.used.contains(&typed) {
            return Entered::Used;
        }
        if !same(&typed, &digest(&inside.code)) {
            inside.wrong += 1;
            let left = MAX_WRONG - inside.wrong;
            inside.events.push(EntryEvent::WrongCode { left });
            return Entered::Wrong { left };
        }
        let token: [u8; TOKEN_BYTES] = inside.random.random();
        let token: String = token.iter().map(|byte| format!("{byte:02x}")).collect();
        inside.tokens.push(digest(token.as_bytes()));
        inside.used.push(typed);
        inside.code = new_code(&mut inside.random);
        inside.wrong = 0;
        let next_code = shown(&inside.code);
        inside.events.push(EntryEvent::CameIn { next_code });
        Entered::In { cookie: format!("{COOKIE}={token}; Path=/; HttpOnly; SameSite=Strict") }
    }

    /// Whether a request has the cookie of one who is in.
    pub(super) fn is_in(&self, headers: &HeaderMap) -> bool {
        let cookies = headers.get_all(header::COOKIE).into_iter().filter_map(|value| value.to_str().ok());
        let pairs = cookies.flat_map(|cookies| cookies.split(';')).filter_map(|pair| pair.trim().split_once('='));
        let inside = self.lock();
        pairs.filter(|(name, _)| *name == COOKIE).any(|(_, token)| {
            let token = digest(token.as_bytes());
            inside.tokens.iter().fold(false, |found, of| found | same(of, &token))
        })
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Inside> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn new_code(random: &mut StdRng) -> [u8; CODE_LENGTH] {
    std::array::from_fn(|_| LETTERS[random.random_range(0..LETTERS.len())])
}

fn shown(code: &[u8; CODE_LENGTH]) -> String {
    let letters: String = code.iter().map(|&letter| char::from(letter)).collect();
    format!("{}-{}", &letters[..CODE_LENGTH / 2], &letters[CODE_LENGTH / 2..])
}

fn digest(bytes: &[u8]) -> [u8; 32] {
    Sha256::digest(bytes).into()
}

/// In a time that does not tell where two digests differ.
fn same(a: &[u8; 32], b: &[u8; 32]) -> bool {
    std::hint::black_box(a.iter().zip(b).fold(0, |differ, (a, b)| differ | (a ^ b))) == 0
}

#[cfg(test)]
mod tests {
    use axum::http::{HeaderMap, HeaderValue, header};

    use super::{Entered, Entry, EntryEvent, MAX_WRONG};

    fn with_cookie(value: &str) -> HeaderMap {
        let mut headers = HeaderMap::new();
        headers.insert(header::COOKIE, HeaderValue::from_str(value).expect("a header"));
        headers
    }

    #[test]
    fn a_code_lets_one_device_in_and_the_next_one_needs_another() {
        let entry = Entry::new();
        let code = entry.code();
        let typed = code.replace('-', " ").to_lowercase();
        let Entered::In { cookie } = entry.enter(&typed) else { panic!("{code} is refused") };
        assert!(cookie.contains("; HttpOnly; SameSite=Strict"), "{cookie}");
        let pair = cookie.split(';').next().expect("a pair");
        assert!(entry.is_in(&with_cookie(pair)) && entry.is_in(&with_cookie(&format!("a=b; {pair}"))));
        assert!(!entry.is_in(&with_cookie(&pair[..pair.len() - 1])) && !entry.is_in(&HeaderMap::new()));
        assert!(!Entry::new().is_in(&with_cookie(pair)));
        assert!(matches!(entry.enter(&code), Entered::Used));
        assert!(matches!(entry.enter("AAAA-AAAA"), Entered::Wrong { .. }));
        let next_code = entry.code();
        assert_eq!(entry.events(), [EntryEvent::CameIn { next_code }, EntryEvent::WrongCode { left: MAX_WRONG - 1 }]);
        assert!(entry.events().is_empty());
    }

    #[test]
    fn after_five_wrong_codes_the_right_one_is_refused_too() {
        let entry = Entry::new();
        let wrong = ["", "AAAA-AAAA", "0000-0000", "' or 1=1", &"2".repeat(10_000)];
        let left: Vec<Entered> = wrong.into_iter().map(|code| entry.enter(code)).collect();
        assert!(matches!(left[..], [.., Entered::Wrong { left: 1 }, Entered::Wrong { left: 0 }]), "{left:?}");
        assert!(matches!(entry.enter(&entry.code()), Entered::Closed));
        assert_eq!(entry.events().len() as u32, MAX_WRONG);
    }

    #[test]
    fn a_device_that_comes_in_sets_the_count_of_wrong_codes_back() {
        let entry = Entry::new();
        let tries = || (1..MAX_WRONG).map(|_| entry.enter("AAAA")).last();
        assert!(matches!(tries(), Some(Entered::Wrong { left: 1 })));
        assert!(matches!(entry.enter(&entry.code()), Entered::In { .. }));
        assert!(matches!(tries(), Some(Entered::Wrong { left: 1 })));
    }

    #[test]
    fn no_two_codes_are_alike() {
        let mut codes: Vec<String> = (0..1000).map(|_| Entry::new().code()).collect();
        codes.sort();
        codes.dedup();
        assert_eq!(codes.len(), 1000);
        assert!(codes.iter().all(|code| code.len() == 9 && code.is_char_boundary(4)));
    }
}
