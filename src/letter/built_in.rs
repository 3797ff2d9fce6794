//! The letters that come with the program, by language.

/// Declares templates by name, and the words for days, from a folder.
macro_rules! built_in {
    ($folder:literal; $($name:literal),* $(,)?) => {
        &[
            ("words.yaml", include_str!(concat!("../../templates/", $folder, "words.yaml"))),
            $(($name, include_str!(concat!("../../templates/", $folder, $name, ".hbs")))),*
        ]
    };
}

/// Declares every language with the same list of templates.
macro_rules! languages {
    ($($language:ident in $folder:literal;)*) => {
        $(languages! { @one $language $folder })*
    };
    (@one $language:ident $folder:literal) => {
        /// Templates and words of one language by name.
        pub(super) const $language: &[(&str, &str)] = built_in![
            $folder;
            "answer",
            "cancelled.html",
            "cancelled.money",
            "cancelled.subject",
            "cancelled.txt",
            "care.cloth",
            "care.html",
            "care.paper",
            "care.txt",
            "delayed.date",
            "delayed.html",
            "delayed.opening",
            "delayed.reason",
            "delayed.silence",
            "delayed.subject",
            "delayed.txt",
            "dispatched.html",
            "dispatched.subject",
            "dispatched.txt",
            "foot.html",
            "foot.txt",
            "head.html",
            "head.txt",
            "pieces.html",
            "pieces.txt",
            "planned.day",
            "planned.html",
            "planned.promise",
            "planned.subject",
            "planned.txt",
            "promise",
            "ready.html",
            "ready.subject",
            "ready.txt",
            "remade.before",
            "remade.html",
            "remade.promise",
            "remade.subject",
            "remade.txt",
            "remade.what",
            "taken.html",
            "taken.light",
            "taken.promise",
            "taken.subject",
            "taken.txt",
        ];
    };
}

languages! {
    ENGLISH in "";
    GERMAN in "de/";
}

/// Declares pages that are no letters by name.
macro_rules! pages {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../../templates/", $name, ".hbs")))),*]
    };
}

/// Sheets, cards and certificates, which are in one language.
pub(super) const PAGES: &[(&str, &str)] = pages![
    "card.page",
    "card.style",
    "certificate.page",
    "sheet.coat",
    "sheet.day",
    "sheet.expose",
    "sheet.page",
    "sheet.style",
    "sheet.week",
];
