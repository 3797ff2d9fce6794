//! Sender and way of letters from their part of `studio.yaml`.

use super::file::{LettersFile, SmtpFile, StudioFile};
use super::section::Section;
use super::{Letters, MailSecurity, Secret, Transport, defaults};

/// Port of a server that begins plain and turns to TLS (RFC 6409).
const SUBMISSION_PORT: u16 = 587;

/// Port of a server that speaks TLS at once (RFC 8314).
const SUBMISSIONS_PORT: u16 = 465;

/// Port of a server without TLS, on this machine (RFC 5321).
const PLAIN_PORT: u16 = 25;

/// Reads who writes the letters and how they leave.
pub fn letters(shape: &StudioFile, studio: Option<&str>, top: &mut Section) -> Option<Letters> {
    let example = "{from: studio@example.org, person: Ada}";
    let shape = top.need_part(&shape.letters, "letters", example)?;
    let transport = transport(shape, top);
    let at = &mut top.below("letters");
    let from = at.need(&shape.from, "from", "studio@example.org");
    let reply_to = at.take(&shape.reply_to, "reply_to");
    at.mail_address(from.as_deref(), "from");
    at.mail_address(reply_to.as_deref(), "reply_to");
    let person = at.take(&shape.person, "person");
    let planned = at.take(&shape.planned, "planned").unwrap_or(false);
    let remade = at.take(&shape.remade, "remade").unwrap_or(false);
    let hold_days = at.count(&shape.hold_days, "hold_days", defaults::HOLD_DAYS, 0..=90);
    let doubt = defaults::DOUBT_SHARE;
    let doubt_share = at.number(&shape.doubt_share, "doubt_share", doubt, 0.0..=1.0);
    Some(Letters {
        from: from?,
        reply_to,
        person: person.or(studio.map(str::to_owned))?,
        transport: transport?,
        planned,
        remade,
        hold_days,
        doubt_share,
    })
}

fn transport(shape: &LettersFile, top: &mut Section) -> Option<Transport> {
    let letters = &mut top.below("letters");
    let folder = letters.take(&shape.folder, "folder");
    let sendmail = letters.take(&shape.sendmail, "sendmail");
    if shape.sendmail.is_some() && (shape.folder.is_some() || shape.smtp.is_some()) {
        let what = "letters have `sendmail` and another way";
        letters.wrong_key("sendmail", what, "keep one of `folder`, `sendmail`, `smtp`");
    }
    if let Some(program) = sendmail {
        return Some(Transport::Sendmail(program));
    }
    let Some(smtp) = &shape.smtp else {
        let folder = folder.unwrap_or_else(|| defaults::LETTER_FOLDER.to_owned());
        return Some(Transport::Folder(folder));
    };
    if shape.folder.is_some() {
        let hint = "keep `folder` to write files, or `smtp` to send";
        letters.wrong_key("folder", "letters have both `folder` and `smtp`", hint);
    }
    server(smtp, &mut letters.below("smtp"))
}

fn server(shape: &SmtpFile, at: &mut Section) -> Option<Transport> {
    let host: Option<String> = at.need(&shape.host, "host", "mail.example.org");
    let port = at.take(&shape.port, "port");
    let security = at.take(&shape.security, "security");
    let security = security.unwrap_or(match port {
        Some(SUBMISSIONS_PORT) => MailSecurity::Tls,
        Some(_) | None => MailSecurity::StartTls,
    });
    let port = port.unwrap_or(match security {
        MailSecurity::StartTls => SUBMISSION_PORT,
        MailSecurity::Tls => SUBMISSIONS_PORT,
        MailSecurity::None => PLAIN_PORT,
    });
    let host = host?;
    let here = ["localhost", "127.0.0.1", "::1"].contains(&host.as_str());
    if security == MailSecurity::None && !here {
        let what = format!("letters would cross the net to `{host}` unprotected");
        at.wrong_value("security", &what, "write `security: starttls`, or `tls`");
    }
    let user = at.take(&shape.user, "user");
    let secret = secret(shape, at);
    if user.is_some() && secret.is_none() {
        at.wrong_key(
            "user",
            "a login needs its password from the environment, a file or a command",
            "add `password_env: STUDIO_MAIL_PASSWORD`, the name of the variable",
        );
    }
    Some(Transport::Smtp {
        host,
        port,
        security,
        user,
        secret,
    })
}

/// Reads where the password is; there must be one place at most.
fn secret(shape: &SmtpFile, at: &mut Section) -> Option<Secret> {
    let places = [
        (
            "password_env",
            at.take(&shape.password_env, "password_env")
                .map(Secret::Env),
        ),
        (
            "password_file",
            at.take(&shape.password_file, "password_file")
                .map(Secret::File),
        ),
        (
            "password_command",
            at.take(&shape.password_command, "password_command")
                .map(Secret::Command),
        ),
        (
            "token_command",
            at.take(&shape.token_command, "token_command")
                .map(Secret::TokenCommand),
        ),
    ];
    let mut given = places
        .into_iter()
        .filter_map(|(key, secret)| Some((key, secret?)));
    let (first, secret) = given.next()?;
    if let Some((second, _)) = given.next() {
        let what = format!("the login has both `{first}` and `{second}`");
        at.wrong_key(second, &what, "keep one of them");
    }
    Some(secret)
}
