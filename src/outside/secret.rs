//! The secret of a mail login: from the environment, a private file or a command.
//!
//! It is read when it is needed, kept nowhere and shown in no message.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail, ensure};

use super::smtp::Login;
use crate::studio::Secret;

/// Reads the login of `user`.
///
/// `folder` is the studio folder, from which a relative file is named;
/// `environment` finds the value of an environment variable.
///
/// # Errors
/// When the variable is not set, others may read the file, or the command fails
/// or prints nothing.
pub fn login(
    user: &str,
    secret: &Secret,
    folder: &Path,
    environment: &dyn Fn(&str) -> Option<String>,
) -> Result<Login> {
    match secret {
        Secret::Env(name) => {
            let password = environment(name).filter(|password| !password.is_empty());
            let password = password.with_context(|| {
                format!(
                    "the environment variable `{name}`, which holds the mail password, is not set"
                )
            })?;
            Ok(Login::new(user, password))
        }
        Secret::File(path) => {
            let path = place(path, folder, environment);
            let password = read_private(&path)
                .with_context(|| format!("reading the mail password in `{}`", path.display()))?;
            Ok(Login::new(user, password))
        }
        Secret::Command(command) => {
            let password = ask(command).context("asking `password_command`")?;
            Ok(Login::new(user, password))
        }
        Secret::TokenCommand(command) => {
            let token = ask(command).context("asking `token_command`")?;
            Ok(Login::with_token(user, token))
        }
    }
}

fn place(path: &str, folder: &Path, environment: &dyn Fn(&str) -> Option<String>) -> PathBuf {
    match (path.strip_prefix("~/"), environment("HOME")) {
        (Some(rest), Some(home)) => Path::new(&home).join(rest),
        _ => folder.join(path),
    }
}

/// Reads the first line of a file that is its owner's alone.
fn read_private(path: &Path) -> Result<String> {
    let kind = std::fs::metadata(path)?;
    ensure!(kind.is_file(), "expected a plain file");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let others = kind.permissions().mode() & 0o077;
        ensure!(
            others == 0,
            "others may read it; type `chmod 600 {}`",
            path.display()
        );
    }
    first_line(&std::fs::read_to_string(path)?)
}

/// Runs a command of the shell and returns the first line it prints; what it says
/// beside that goes to the terminal, for a program that asks for a passphrase.
fn ask(command: &str) -> Result<String> {
    let (shell, flag) = if cfg!(windows) {
        ("cmd", "/C")
    } else {
        ("sh", "-c")
    };
    let mut child = Command::new(shell);
    child
        .args([flag, command])
        .stdin(Stdio::inherit())
        .stderr(Stdio::inherit());
    let answer = child
        .output()
        .with_context(|| format!("starting `{shell}`"))?;
    if !answer.status.success() {
        bail!("the command failed ({})", answer.status);
    }
    let text = String::from_utf8(answer.stdout)
        .ok()
        .context("it printed no text")?;
    first_line(&text)
}

fn first_line(text: &str) -> Result<String> {
    let line = text.lines().next().unwrap_or("").trim();
    ensure!(!line.is_empty(), "there is nothing in its first line");
    Ok(line.to_owned())
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    fn words(secret: &Secret, folder: &Path) -> String {
        let environment = |name: &str| (name == "SET").then(|| "hunter-two".to_owned());
        match login("marit", secret, folder, &environment) {
            Ok(_) => "fine".to_owned(),
            Err(error) => format!("{error:#}"),
        }
    }

    #[test]
    fn a_secret_comes_from_its_place_and_never_shows() {
        let folder = tempfile::tempdir().unwrap();
        let check = |secret, expected: &str| {
            let found = words(&secret, folder.path());
            assert!(found.ends_with(expected), "{found}");
            assert!(!found.contains("hunter"), "{found}");
        };
        check(Secret::Env("SET".to_owned()), "fine");
        check(Secret::Env("UNSET".to_owned()), "is not set");
        let command = |text: &str| Secret::Command(text.to_owned());
        check(command("echo hunter-two; echo second"), "fine");
        check(
            command("echo hunter-two; exit 3"),
            "the command failed (exit status: 3)",
        );
        check(command("true"), "nothing in its first line");
        check(Secret::TokenCommand("echo hunter-two".to_owned()), "fine");
        check(
            Secret::File("no-such-file".to_owned()),
            "No such file or directory (os error 2)",
        );
    }

    #[test]
    fn a_file_that_others_may_read_is_refused() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("password");
        std::fs::write(&path, "hunter-two\n").unwrap();
        let secret = Secret::File("password".to_owned());
        for (mode, fine) in [(0o600, true), (0o400, true), (0o640, false), (0o604, false)] {
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(mode)).unwrap();
            let found = words(&secret, folder.path());
            assert_eq!(found == "fine", fine, "{mode:o}: {found}");
            assert_eq!(found.contains("chmod 600"), !fine, "{found}");
        }
    }
}
