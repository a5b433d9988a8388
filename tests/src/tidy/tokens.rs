//! Rust source as a list of tokens: without comments, and with strings that cannot be mistaken for code.

use proc_macro2::{Delimiter, TokenStream, TokenTree};

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Token {
    Word(String),
    Sign(char),
    Open(char),
    Close(char),
    Literal,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Placed {
    pub token: Token,
    pub line: usize,
}

impl Placed {
    pub(super) fn is_word(&self, word: &str) -> bool {
        matches!(&self.token, Token::Word(found) if found == word)
    }

    pub(super) fn is_sign(&self, sign: char) -> bool {
        self.token == Token::Sign(sign)
    }

    pub(super) fn word(&self) -> Option<&str> {
        match &self.token {
            Token::Word(word) => Some(word),
            _ => None,
        }
    }
}

/// `None` for a text that is no Rust: the compiler says so better than we could.
pub(super) fn of(text: &str) -> Option<Vec<Placed>> {
    let stream: TokenStream = text.parse().ok()?;
    let mut tokens = Vec::new();
    flatten(stream, &mut tokens);
    Some(tokens)
}

/// The token behind the closing one that belongs to the opening one at `open`.
pub(super) fn behind_group(tokens: &[Placed], open: usize) -> usize {
    let mut depth = 0_usize;
    for (at, placed) in tokens.iter().enumerate().skip(open) {
        match placed.token {
            Token::Open(_) => depth += 1,
            Token::Close(_) => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            return at + 1;
        }
    }
    tokens.len()
}

/// Do the tokens at `at` read like this? Words and signs are given apart by blanks.
pub(super) fn reads(tokens: &[Placed], at: usize, pattern: &str) -> bool {
    pattern.split(' ').enumerate().all(|(offset, part)| {
        tokens.get(at + offset).is_some_and(|placed| match &placed.token {
            Token::Word(word) => word == part,
            Token::Sign(sign) | Token::Open(sign) | Token::Close(sign) => part.chars().eq([*sign]),
            Token::Literal => false,
        })
    })
}

fn flatten(stream: TokenStream, tokens: &mut Vec<Placed>) {
    for tree in stream {
        let line = tree.span().start().line;
        match tree {
            TokenTree::Ident(word) => tokens.push(Placed {
                token: Token::Word(word.to_string()),
                line,
            }),
            TokenTree::Punct(sign) => tokens.push(Placed {
                token: Token::Sign(sign.as_char()),
                line,
            }),
            TokenTree::Literal(_) => tokens.push(Placed {
                token: Token::Literal,
                line,
            }),
            TokenTree::Group(group) => {
                let signs = match group.delimiter() {
                    Delimiter::Parenthesis => Some(('(', ')')),
                    Delimiter::Brace => Some(('{', '}')),
                    Delimiter::Bracket => Some(('[', ']')),
                    Delimiter::None => None,
                };
                if let Some((open, _)) = signs {
                    tokens.push(Placed {
                        token: Token::Open(open),
                        line,
                    });
                }
                flatten(group.stream(), tokens);
                if let Some((_, close)) = signs {
                    let line = group.span_close().start().line;
                    tokens.push(Placed {
                        token: Token::Close(close),
                        line,
                    });
                }
            }
        }
    }
}
