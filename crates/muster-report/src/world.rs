//! All that typst can see: our fonts, our templates and one document's data. No disk, no clock, no network.

use std::{collections::HashMap, sync::OnceLock};

use typst::{
    Library, LibraryExt as _, World,
    diag::{FileError, FileResult},
    foundations::{Bytes, Datetime, Duration},
    syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot},
    text::{Font, FontBook},
    utils::LazyHash,
};

use crate::fonts;

/// The templates, by the names they import each other with.
const TEMPLATES: [(&str, &str); 9] = [
    ("main.typ", include_str!("../templates/main.typ")),
    ("paper.typ", include_str!("../templates/paper.typ")),
    ("form.typ", include_str!("../templates/form.typ")),
    ("yard-sheet.typ", include_str!("../templates/yard-sheet.typ")),
    ("tag.typ", include_str!("../templates/tag.typ")),
    ("walk-round.typ", include_str!("../templates/walk-round.typ")),
    ("slip.typ", include_str!("../templates/slip.typ")),
    ("dossier.typ", include_str!("../templates/dossier.typ")),
    ("stickers.typ", include_str!("../templates/stickers.typ")),
];

/// What is the same for every document, made once.
struct Shop {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    main: FileId,
    templates: HashMap<FileId, Source>,
}

/// One document's world.
pub(crate) struct Desk {
    shop: &'static Shop,
    files: HashMap<FileId, Bytes>,
}

impl Desk {
    /// A world that holds these files beside the templates, by name.
    pub(crate) fn with(files: impl IntoIterator<Item = (String, Bytes)>) -> Self {
        let files = files.into_iter().filter_map(|(name, bytes)| Some((file(&name)?, bytes))).collect();
        Self { shop: shop(), files }
    }
}

fn shop() -> &'static Shop {
    static SHOP: OnceLock<Shop> = OnceLock::new();
    SHOP.get_or_init(|| {
        let fonts = fonts::all();
        let templates: HashMap<FileId, Source> = TEMPLATES
            .iter()
            .filter_map(|(name, text)| file(name).map(|id| (id, Source::new(id, (*text).to_string()))))
            .collect();
        Shop {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            main: file("main.typ").expect("a plain name is a path"),
            templates,
        }
    })
}

fn file(name: &str) -> Option<FileId> {
    Some(RootedPath::new(VirtualRoot::Project, VirtualPath::new(name).ok()?).intern())
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.shop.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.shop.book
    }

    fn main(&self) -> FileId {
        self.shop.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        self.shop.templates.get(&id).cloned().ok_or(FileError::NotSource)
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files.get(&id).cloned().ok_or(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.shop.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}
