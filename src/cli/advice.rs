//! What to do next, where it needs words of the command line.

use std::io::ErrorKind;
use std::path::Path;

use crate::outputs::WriteError;
use crate::plain_text::plain_path;

use super::open_files::{OUT_OF_HANDLES, is_out_of_handles};

/// After something could not be written, one sentence a line.
pub fn after_no_write(error: &WriteError) -> String {
    match error {
        WriteError::Exists { .. } => "choose another name, or overwrite it with --force".into(),
        WriteError::Foreign { .. } => {
            "nothing was written; move what you want to keep, choose another folder with --out, \
             or overwrite with --force"
                .into()
        }
        WriteError::ListUnreadable { path } => format!(
            "without it own files cannot be told from yours; nothing was written\n\
             choose another folder with --out, move {} away, or overwrite with --force",
            plain_path(Path::new(path.file_name().unwrap_or_default()))
        ),
        WriteError::Input { .. } => {
            "nothing was written; choose another folder with --out, or copy this file elsewhere first".into()
        }
        WriteError::Changed { .. } => "nothing was written into it; run the command again".into(),
        WriteError::NotAFile { .. } => "move it away or choose another place; --force does not replace it".into(),
        WriteError::NotAFolder { path } => {
            format!("choose another folder with --out, or move {} away", plain_path(path))
        }
        WriteError::System { source, .. } if is_out_of_handles(source) => OUT_OF_HANDLES.into(),
        WriteError::System { source, path, .. } => match source.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
                "make room there, or choose a place that has some, and run the command again".into()
            }
            ErrorKind::NotFound => match path.parent().filter(|p| !p.as_os_str().is_empty()) {
                Some(parent) => format!("make sure that the folder {} exists, or choose another", plain_path(parent)),
                None => "choose a folder that exists".into(),
            },
            _ => "choose a place where you may write".into(),
        },
    }
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::after_no_write;
    use crate::outputs::WriteError;

    #[test]
    fn the_way_out_of_a_folder_with_files_of_the_user_is_another_folder_or_force() {
        let folder = PathBuf::from("out");
        let foreign = WriteError::Foreign { folder: folder.clone(), names: vec!["roll.csv".into()] };
        for error in [foreign, WriteError::ListUnreadable { path: folder.join("hubtrace-sweep.sha256") }] {
            let advice = after_no_write(&error);
            assert!(advice.contains("--out") && advice.contains("--force"), "{advice}");
        }
    }

    #[test]
    fn nothing_overwrites_the_source_of_a_result() {
        let advice = after_no_write(&WriteError::Input { path: "rear.toml".into() });
        assert!(advice.contains("--out") && !advice.contains("--force"), "{advice}");
    }
}
