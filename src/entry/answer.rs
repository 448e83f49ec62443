//! What becomes of a typed text.

/// A typed text is a `T`, a question back, or nothing that fits.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer<T> {
    /// It is one.
    Taken(Box<T>),
    /// It can be meant in these ways: the person is to say which.
    Question {
        /// The ways it can be meant, at least one.
        alternatives: Vec<T>,
        /// The question, fit for a screen.
        words: String,
    },
    /// It is none: what was understood and what would fit, fit for a screen.
    Refused(String),
}

impl<T> Answer<T> {
    /// The same answer about what `with` makes of each way it can be meant; refused where `with` refuses one.
    pub fn map<U>(self, mut with: impl FnMut(T) -> Result<U, String>) -> Answer<U> {
        let mapped = match self {
            Self::Taken(taken) => with(*taken).map(|taken| Answer::Taken(Box::new(taken))),
            Self::Question {
                alternatives,
                words,
            } => {
                let meant: Result<Vec<U>, String> = alternatives.into_iter().map(with).collect();
                meant.map(|alternatives| Answer::Question {
                    alternatives,
                    words,
                })
            }
            Self::Refused(words) => Err(words),
        };
        mapped.unwrap_or_else(Answer::Refused)
    }

    /// What was typed, where nobody is there to answer a question.
    pub fn taken(self) -> Result<T, String> {
        match self {
            Self::Taken(taken) => Ok(*taken),
            Self::Question { words, .. } | Self::Refused(words) => Err(words),
        }
    }
}
