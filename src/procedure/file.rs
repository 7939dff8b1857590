//! Reads a file of either kind. The key that names it, `procedure` or `shop`, decides which kind it is.

use super::node::{Node, Scalar};
use super::shop::Shop;
use super::yaml;
use super::{Procedure, read, shop};
use crate::diagnostics::{Findings, Span, nearest};

/// The kind of a file, by its key.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FileKind {
    /// It has the key `procedure`.
    Procedure,
    /// It has the key `shop`.
    Shop,
    /// It has the key `rehearsal`. A layer above reads it.
    Rehearsal,
}

/// The content of a file without errors.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum File {
    /// A procedure.
    Procedure(Box<Procedure>),
    /// A shop file.
    Shop(Shop),
}

/// A file as read: its kind as far as it is known, and its content if there is no error in it.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct FileRead {
    /// The kind; `None` when the file has none of the keys, or several, or is not YAML.
    pub kind: Option<FileKind>,
    /// The id of the procedure or the name of the shop, as written.
    pub name: Option<String>,
    /// The content, if there is no error in it.
    pub content: Option<File>,
}

/// Reads a file of either kind; every fault goes to `findings`.
pub fn read_any(text: &str, findings: &mut Findings) -> FileRead {
    let Some(root) = yaml::parse(text, findings) else {
        return FileRead::default();
    };
    let Node::Map(pairs, _) = &root else {
        findings
            .error(
                root.span(),
                format!(
                    "a file is a map of keys and values, and this is {}",
                    root.what()
                ),
            )
            .help("it starts with `format: 1` and `procedure: ID` or `shop: NAME`");
        return FileRead::default();
    };
    let key = |wanted: &str| pairs.iter().find(|(k, _)| k.text == wanted);
    let name = |node: &Node| match node {
        Node::Scalar(text) => Some(text.text.clone()),
        _ => None,
    };
    match (key("procedure"), key("shop")) {
        (Some((_, node)), None) => FileRead {
            kind: Some(FileKind::Procedure),
            name: name(node),
            content: read::from_node(&root, findings).map(|p| File::Procedure(Box::new(p))),
        },
        (None, Some((_, node))) => {
            let content = shop::from_node(&root, findings).map(File::Shop);
            FileRead {
                kind: Some(FileKind::Shop),
                name: name(node),
                content: content.filter(|_| !findings.any_error()),
            }
        }
        (Some(_), Some((second, _))) => {
            findings
                .error(second.span, "a file is either a procedure or a shop, but this names both")
                .help("keep `procedure: ...` or `shop: ...`, and put the other into a file of its own");
            FileRead::default()
        }
        (None, None) => {
            neither(pairs, findings);
            FileRead::default()
        }
    }
}

fn neither(pairs: &[(Scalar, Node)], findings: &mut Findings) {
    let near = pairs
        .iter()
        .find_map(|(k, _)| nearest(&k.text, ["procedure", "shop"]).map(|near| (k.span, near)));
    let first = pairs.first().map_or(Span::default(), |(k, _)| k.span);
    match near {
        Some((span, near)) => findings
            .error(span, "this has neither the key `procedure` nor `shop`")
            .help(format!("did you mean `{near}`?")),
        None => findings
            .error(
                first,
                "this file has neither the key `procedure` nor `shop`",
            )
            .help("add `procedure: ID` or `shop: NAME` under `format: 1`"),
    };
}
