//! Photos: what is kept of them, what is refused, how they are sent in pieces, and what damage does.

use std::{
    fs,
    time::{Duration, SystemTime},
};

use image::{DynamicImage, ImageFormat, Rgba, RgbaImage};
use muster::store::photos::{MAX_BYTES, NotAPicture, PhotoError, PhotoId, Photos, STALE_SECONDS, Upload};
use tempfile::TempDir;

use super::pictures::{self, CORNERS, LATITUDE, SIZE};

fn photos() -> (TempDir, Photos) {
    let folder = TempDir::new().unwrap();
    let photos = Photos::of_store(folder.path());
    (folder, photos)
}

fn contains(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}

/// The markers before the picture (ITU-T T.81, annex B).
fn markers(jpeg: &[u8]) -> Vec<u8> {
    let (mut markers, mut at) = (vec![], 2);
    while markers.last() != Some(&0xda) {
        markers.push(jpeg[at + 1]);
        at += 2 + usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
    }
    markers
}

#[test]
fn a_location_is_not_kept() {
    let (_folder, photos) = photos();
    let plain = pictures::jpeg(&pictures::corners(1));
    let with_exif = pictures::with_segment(&plain, 0xe1, &pictures::exif(1));
    let original = pictures::with_segment(&with_exif, 0xfe, b"taken at home");
    assert!(contains(&original, b"Exif") && contains(&original, &LATITUDE) && contains(&original, b"taken at home"));
    let kept = photos.keep(&original).unwrap();
    let bytes = photos.read(&kept.id).unwrap().unwrap();
    assert!(!contains(&bytes, b"Exif") && !contains(&bytes, &LATITUDE) && !contains(&bytes, b"taken at home"));
    let markers = markers(&bytes);
    // Application segments are E0 to EF, comments FE: of them JFIF alone is there.
    let beside: Vec<u8> =
        markers.into_iter().filter(|marker| (0xe0..=0xef).contains(marker) || *marker == 0xfe).collect();
    assert_eq!(beside, [0xe0]);
    assert_eq!((PhotoId::of(&bytes), bytes.len() as u64), (kept.id, kept.bytes));
    let small = photos.thumbnail(&photos.list().unwrap()[0], 32).unwrap().unwrap();
    assert_eq!(image::load_from_memory(&small).unwrap().width(), 32);
}

#[test]
fn a_photo_is_kept_upright_however_the_camera_was_held() {
    let (_folder, photos) = photos();
    for orientation in 1..=8 {
        let stored = pictures::jpeg(&pictures::corners(orientation));
        let original = pictures::with_segment(&stored, 0xe1, &pictures::exif(orientation));
        let kept = photos.keep(&original).unwrap();
        let upright = image::load_from_memory(&photos.read(&kept.id).unwrap().unwrap()).unwrap().into_rgb8();
        assert_eq!(upright.dimensions(), SIZE, "orientation {orientation}");
        let centres = [(24, 16), (72, 16), (24, 48), (72, 48)];
        for ((x, y), expected) in centres.into_iter().zip(CORNERS) {
            let got = upright.get_pixel(x, y).0;
            let near = got.into_iter().zip(expected).all(|(got, expected)| got.abs_diff(expected) < 12);
            assert!(near, "orientation {orientation} at {x}, {y}: {got:?}, not {expected:?}");
        }
    }
}

#[test]
fn a_large_photo_is_made_smaller_and_a_small_one_is_not() {
    let (_folder, photos) = photos();
    for (width, height, expected) in [(3000, 1000, (2048, 683)), (500, 2500, (410, 2048)), (300, 200, (300, 200))] {
        let original = pictures::written(&DynamicImage::new_rgb8(width, height), ImageFormat::Png);
        let kept = photos.keep(&original).unwrap();
        let bytes = photos.read(&kept.id).unwrap().unwrap();
        let got = image::load_from_memory(&bytes).unwrap();
        assert_eq!((got.width(), got.height()), expected);
    }
}

#[test]
fn png_and_webp_are_taken_in_and_nothing_else() {
    let (_folder, photos) = photos();
    let clear = DynamicImage::from(RgbaImage::from_pixel(40, 40, Rgba([0, 0, 0, 0])));
    for format in [ImageFormat::Png, ImageFormat::WebP] {
        let kept = photos.keep(&pictures::written(&clear, format)).unwrap();
        let got = image::load_from_memory(&photos.read(&kept.id).unwrap().unwrap()).unwrap().into_rgb8();
        assert!(got.pixels().all(|pixel| pixel.0.iter().all(|value| *value > 250)), "transparent is white");
    }
    for other in [&b"GIF89a\x01\0\x01\0\0\0\0;"[..], b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"BM", b""] {
        let error = photos.keep(other).unwrap_err();
        assert!(matches!(error, PhotoError::NotAPicture(NotAPicture::Format)), "{error:?}");
    }
    let mut cut = pictures::written(&clear, ImageFormat::Png);
    cut.truncate(60);
    assert!(matches!(photos.keep(&cut), Err(PhotoError::NotAPicture(NotAPicture::Decode(_)))));
}

#[test]
fn what_is_too_large_is_refused_before_it_is_decoded() {
    let (_folder, photos) = photos();
    let error = photos.keep(&vec![0xff; usize::try_from(MAX_BYTES).unwrap() + 1]).unwrap_err();
    assert!(matches!(error, PhotoError::TooLarge(12_000_001)), "{error:?}");
    let error = photos.keep(&pictures::png_of_size(10_000, 5_001)).unwrap_err();
    let expected = NotAPicture::Pixels { width: 10_000, height: 5_001 };
    assert!(matches!(&error, PhotoError::NotAPicture(got) if *got == expected), "{error:?}");
    assert!(photos.keep(&pictures::png_of_size(u32::MAX, u32::MAX)).is_err());
    assert_eq!(photos.list().unwrap(), vec![]);
}

#[test]
fn the_same_original_is_the_same_photo() {
    let (_folder, photos) = photos();
    let original = pictures::jpeg(&pictures::corners(1));
    let kept = photos.keep(&original).unwrap();
    assert_eq!(photos.keep(&original).unwrap(), kept);
    assert_eq!(photos.list().unwrap(), std::slice::from_ref(&kept.id));
    let of = PhotoId::of(&original);
    assert_eq!((photos.find(&of).unwrap(), photos.find(&kept.id).unwrap()), (Some(kept.clone()), Some(kept.clone())));
    assert_eq!(photos.originals().unwrap(), [(of, kept.id)]);
    assert_eq!(photos.read(&PhotoId::of(b"")).unwrap(), None);
}

#[test]
fn a_damaged_photo_is_named_and_replaced_when_it_is_sent_again() {
    let (_folder, photos) = photos();
    let original = pictures::jpeg(&pictures::corners(1));
    let kept = photos.keep(&original).unwrap();
    photos.keep(&pictures::jpeg(&pictures::corners(3))).unwrap();
    let path = photos.path(&kept.id);
    let mut bytes = fs::read(&path).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&path, bytes).unwrap();
    let error = photos.read(&kept.id).unwrap_err();
    assert!(matches!(&error, PhotoError::Damaged(id) if *id == kept.id), "{error:?}");
    assert!(error.to_string().contains(kept.id.as_str()) && error.to_string().contains("backup"), "{error}");
    assert_eq!(photos.check().unwrap(), std::slice::from_ref(&kept.id));
    assert_eq!(photos.upload(&PhotoId::of(&original)).unwrap(), Upload::Held(0), "it is wanted again");
    assert_eq!(photos.keep(&original).unwrap(), kept);
    assert_eq!(photos.check().unwrap(), vec![]);
}

#[test]
fn a_photo_is_sent_in_pieces() {
    let (_folder, photos) = photos();
    let original = pictures::noise(120, 90);
    let id = PhotoId::of(&original);
    assert_eq!(photos.upload(&id).unwrap(), Upload::Held(0));
    assert_eq!(photos.upload_piece(&id, 0, &original[..1000]).unwrap(), 1000);
    assert_eq!(photos.upload_piece(&id, 0, &original[..1000]).unwrap(), 1000, "the same again");
    assert_eq!(photos.upload_piece(&id, 500, &original[500..1500]).unwrap(), 1500, "half of it again");
    let error = photos.upload_piece(&id, 1501, &original[1501..]).unwrap_err();
    assert!(matches!(error, PhotoError::Offset { held: 1500, offset: 1501 }), "{error:?}");
    assert_eq!(photos.upload(&id).unwrap(), Upload::Held(1500));
    let total = original.len() as u64;
    assert_eq!(photos.upload_piece(&id, 1500, &original[1500..]).unwrap(), total);
    let kept = photos.upload_end(&id).unwrap();
    assert_eq!(photos.upload_end(&id).unwrap(), kept, "an answer that was lost");
    assert_eq!(photos.upload(&id).unwrap(), Upload::Kept(kept.clone()));
    assert_eq!(photos.list().unwrap(), [kept.id]);
}

#[test]
fn other_bytes_than_said_are_given_up() {
    let (_folder, photos) = photos();
    let id = PhotoId::of(b"something else");
    photos.upload_piece(&id, 0, &pictures::noise(20, 20)).unwrap();
    assert!(matches!(photos.upload_end(&id), Err(PhotoError::OtherHash { .. })));
    assert_eq!(photos.upload(&id).unwrap(), Upload::Held(0));
    let error = photos.upload_piece(&id, MAX_BYTES, &[0]).unwrap_err();
    assert!(matches!(error, PhotoError::TooLarge(_)), "{error:?}");
    let letter = PhotoId::of(b"a letter");
    photos.upload_piece(&letter, 0, b"a letter").unwrap();
    assert!(matches!(photos.upload_end(&letter), Err(PhotoError::NotAPicture(NotAPicture::Format))));
    assert_eq!(photos.sweep(SystemTime::now()).unwrap(), 0, "none is left");
}

#[test]
fn a_piece_waits_for_another_and_then_says_that_it_is_in_use() {
    let (_folder, photos) = photos();
    let id = PhotoId::of(b"half");
    photos.upload_piece(&id, 0, b"ha").unwrap();
    let file = fs::File::open(photos.folder().join("uploads").join(id.as_str())).unwrap();
    file.lock().unwrap();
    assert!(matches!(photos.upload_piece(&id, 2, b"lf"), Err(PhotoError::InUse)));
    file.unlock().unwrap();
    assert_eq!(photos.upload_piece(&id, 2, b"lf").unwrap(), 4);
}

#[test]
fn an_upload_nobody_goes_on_with_is_given_up() {
    let (_folder, photos) = photos();
    let id = PhotoId::of(b"half");
    photos.upload_piece(&id, 0, b"ha").unwrap();
    let kept = photos.keep(&pictures::jpeg(&pictures::corners(1))).unwrap();
    // What a program leaves that is killed while it writes a photo.
    fs::write(muster::store::durable::unfinished(&photos.path(&kept.id)), b"half").unwrap();
    assert_eq!(photos.lasting().unwrap().len(), 2, "the photo and its original's name");
    let later = |seconds| SystemTime::now() + Duration::from_secs(seconds);
    assert_eq!(photos.sweep(later(STALE_SECONDS - 60)).unwrap(), 0);
    assert_eq!(photos.sweep(later(STALE_SECONDS + 60)).unwrap(), 2);
    assert_eq!(photos.upload(&id).unwrap(), Upload::Held(0));
    assert!(photos.read(&kept.id).unwrap().is_some());
}

#[test]
fn only_what_was_kept_elsewhere_is_adopted() {
    let (_folder, photos) = photos();
    let (_other_folder, other) = self::photos();
    let kept = other.keep(&pictures::noise(50, 40)).unwrap();
    let bytes = other.read(&kept.id).unwrap().unwrap();
    let wrong = PhotoId::of(b"");
    assert!(matches!(photos.adopt(&wrong, &bytes), Err(PhotoError::OtherHash { .. })));
    let with_location = pictures::with_segment(&bytes, 0xe1, &pictures::exif(1));
    let with_more = [&bytes[..], b"and a letter"].concat();
    let large = pictures::jpeg(&image::RgbImage::new(2049, 10));
    for refused in [with_location, with_more, large, bytes[..bytes.len() - 2].to_vec(), b"\xff\xd8".to_vec()] {
        let error = photos.adopt(&PhotoId::of(&refused), &refused).unwrap_err();
        assert!(matches!(error, PhotoError::NotAPicture(NotAPicture::NotPlain(_))), "{error:?}");
    }
    assert_eq!(photos.adopt(&kept.id, &bytes).unwrap(), kept);
    assert_eq!(photos.read(&kept.id).unwrap(), Some(bytes));
}
