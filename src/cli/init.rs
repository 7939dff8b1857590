//! `skimgate init`: the built-in checklists and a shop file to edit.

use super::context::CommandContext;
use super::failure::Failure;
use super::files;
use super::status::Status;
use crate::files::ReadableBy;
use crate::report::page::{Item, Page};
use std::path::PathBuf;

/// Write the built-in procedure, an invented shop file and example answers into a folder, to edit
#[derive(clap::Args, Debug)]
pub(crate) struct InitArgs {
    /// The folder; made if it is not there
    #[arg(default_value = "checklists")]
    pub dir: PathBuf,
}

/// Runs it. Nothing that is there is written over.
pub(crate) fn run(args: &InitArgs, context: &CommandContext) -> Result<Status, Failure> {
    let all = [
        ("base-plate.yaml", files::BASE_PLATE),
        ("shop.yaml", files::SHOP),
        ("answers/two-roughing.yaml", files::ANSWERS),
        ("answers/facing-12mm.nc", files::PROGRAM),
    ];
    let taken: Vec<String> = all
        .iter()
        .map(|(name, _)| args.dir.join(name))
        .filter(|path| path.exists() || path.is_symlink())
        .map(|path| path.display().to_string())
        .collect();
    if !taken.is_empty() {
        return Err(Failure::usage(format!(
            "these files are there already: {}",
            taken.join(", ")
        ))
        .hint("name another folder: `skimgate init FOLDER`; nothing was written"));
    }
    std::fs::create_dir_all(args.dir.join("answers")).map_err(|e| {
        Failure::new(
            Status::Failed,
            format!("{} cannot be made: {e}", args.dir.display()),
        )
    })?;
    for (name, text) in all {
        let path = args.dir.join(name);
        files::written(&path, text, false, ReadableBy::Default)?;
    }
    let dir = args.dir.display();
    let page = Page::new()
        .text("Written:")
        .list(all.map(|(name, _)| Item::new(args.dir.join(name).display().to_string())))
        .next(format!(
            "Put your machines, plates and cutters into {dir}/shop.yaml, then `skimgate check {dir}/shop.yaml` and `skimgate walk {dir}/base-plate.yaml --shop {dir}/shop.yaml`."
        ));
    context.print_page(&page)?;
    Ok(Status::Fine)
}
