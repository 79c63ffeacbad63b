//! Pictures as cameras send them, made by hand: with a location, turned, too large, of other formats.

use std::io::Cursor;

use image::{DynamicImage, ImageFormat, Rgb, RgbImage, codecs::jpeg::JpegEncoder};

/// The corners of a picture: top left, top right, bottom left, bottom right.
pub(crate) const CORNERS: [[u8; 3]; 4] = [[200, 30, 30], [30, 160, 30], [30, 30, 200], [220, 210, 40]];

/// Upright size of [`corners`].
pub(crate) const SIZE: (u32, u32) = (96, 64);

/// The latitude in [`exif`] as it stands in the file: three fractions, 51° 28′ 38″ (an observatory's, of public knowledge).
pub(crate) const LATITUDE: [u8; 24] = [51, 0, 0, 0, 1, 0, 0, 0, 28, 0, 0, 0, 1, 0, 0, 0, 38, 0, 0, 0, 1, 0, 0, 0];

/// The colour at a place of the upright picture.
pub(crate) fn colour(x: u32, y: u32, (width, height): (u32, u32)) -> [u8; 3] {
    CORNERS[usize::from(x >= width / 2) + 2 * usize::from(y >= height / 2)]
}

/// A picture with a colour in each corner, as a camera stores it that was held in one of eight ways.
///
/// The meaning of the eight values is that of Exif 2.32 (CIPA DC-008-2019), section 4.6.4, tag Orientation: where the
/// stored row 0 and the stored column 0 are seen.
pub(crate) fn corners(orientation: u8) -> RgbImage {
    let (width, height) = SIZE;
    // Whether rows run across, whether row 0 is at the bottom or the right, whether column 0 is.
    let (across, far_row, far_column) = match orientation {
        1 => (false, false, false),
        2 => (false, false, true),
        3 => (false, true, true),
        4 => (false, true, false),
        5 => (true, false, false),
        6 => (true, true, false),
        7 => (true, true, true),
        _ => (true, false, true),
    };
    let (stored_width, stored_height) = if across { (height, width) } else { (width, height) };
    RgbImage::from_fn(stored_width, stored_height, |column, row| {
        let row = if far_row { stored_height - 1 - row } else { row };
        let column = if far_column { stored_width - 1 - column } else { column };
        let (x, y) = if across { (row, column) } else { (column, row) };
        Rgb(colour(x, y, SIZE))
    })
}

/// A JPEG.
pub(crate) fn jpeg(picture: &RgbImage) -> Vec<u8> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 95).encode_image(picture).unwrap();
    bytes
}

/// A picture in another format.
pub(crate) fn written(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

/// A picture that no format makes small.
pub(crate) fn noise(width: u32, height: u32) -> Vec<u8> {
    let mut state = 1_u32;
    let mut next = || {
        // Numerical Recipes' linear congruence: its upper bits are noise enough for a picture.
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        u8::try_from(state >> 24).unwrap()
    };
    jpeg(&RgbImage::from_fn(width, height, |_, _| Rgb([next(), next(), next()])))
}

/// An Exif block: orientation, and a place on earth (Exif 2.32, sections 4.5.2, 4.6.3 and 4.6.6).
pub(crate) fn exif(orientation: u8) -> Vec<u8> {
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [&tag.to_le_bytes()[..], &kind.to_le_bytes(), &count.to_le_bytes(), &value].concat()
    };
    let tiff = [
        b"II\x2a\0".to_vec(),
        8_u32.to_le_bytes().to_vec(),
        // The first directory, at 8: orientation (SHORT) and where the GPS directory is (LONG).
        2_u16.to_le_bytes().to_vec(),
        entry(0x0112, 3, 1, [orientation, 0, 0, 0]),
        entry(0x8825, 4, 1, 38_u32.to_le_bytes()),
        0_u32.to_le_bytes().to_vec(),
        // The GPS directory, at 38: north, latitude, west, longitude (RATIONAL).
        4_u16.to_le_bytes().to_vec(),
        entry(1, 2, 2, *b"N\0\0\0"),
        entry(2, 5, 3, 92_u32.to_le_bytes()),
        entry(3, 2, 2, *b"W\0\0\0"),
        entry(4, 5, 3, 92_u32.to_le_bytes()),
        0_u32.to_le_bytes().to_vec(),
        LATITUDE.to_vec(),
    ];
    [b"Exif\0\0".to_vec(), tiff.concat()].concat()
}

/// Puts a segment behind the start of a JPEG.
pub(crate) fn with_segment(jpeg: &[u8], marker: u8, content: &[u8]) -> Vec<u8> {
    let length = u16::try_from(content.len() + 2).unwrap();
    [&jpeg[..2], &[0xff, marker], &length.to_be_bytes(), content, &jpeg[2..]].concat()
}

/// A PNG that says it has another size than it has.
pub(crate) fn png_of_size(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = written(&DynamicImage::new_rgb8(1, 1), ImageFormat::Png);
    bytes[16..20].copy_from_slice(&width.to_be_bytes());
    bytes[20..24].copy_from_slice(&height.to_be_bytes());
    let crc = crc(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&crc.to_be_bytes());
    bytes
}

/// The check of a PNG chunk (PNG third edition, annex D).
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0_u32, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| if crc & 1 == 1 { 0xedb8_8320 ^ (crc >> 1) } else { crc >> 1 })
    })
}
