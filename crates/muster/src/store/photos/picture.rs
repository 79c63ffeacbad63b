//! From what a camera sent to a plain JPEG: decoded within limits, turned upright, made smaller, written anew.

use std::io::Cursor;

use image::{
    DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits, Rgb, RgbImage, codecs::jpeg::JpegEncoder,
    imageops::FilterType,
};

/// The most pixels decoded: 50 megapixels.
pub const MAX_PIXELS: u64 = 50_000_000;

/// The longest side kept, in pixels.
pub const MAX_SIDE: u32 = 2048;

/// Quality of what is written, of 100: scratches and lettering stay legible.
const QUALITY: u8 = 85;

/// Memory for decoding, in bytes: the most pixels with four channels of two bytes, and as much again to turn them.
const MAX_MEMORY: u64 = MAX_PIXELS * 16;

/// Why bytes are no picture that is taken in.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAPicture {
    /// Another format.
    #[error("a photo must be JPEG, PNG or WebP")]
    Format,
    /// More pixels than are decoded.
    #[error("a photo has at most {MAX_PIXELS} pixels, got {width} × {height}: take it with a lower resolution")]
    Pixels {
        /// In pixels.
        width: u32,
        /// In pixels.
        height: u32,
    },
    /// Damaged.
    #[error("the photo cannot be decoded: {0}")]
    Decode(String),
    /// Not what this program writes.
    #[error("the photo is not one this program kept: {0}")]
    NotPlain(&'static str),
}

/// Makes a plain JPEG of a photo.
pub(super) fn plain_jpeg(original: &[u8]) -> Result<Vec<u8>, NotAPicture> {
    let picture = decode(original)?;
    let small = if picture.width().max(picture.height()) > MAX_SIDE {
        picture.resize(MAX_SIDE, MAX_SIDE, FilterType::Triangle)
    } else {
        picture
    };
    encode(&on_white(small))
}

/// Makes a photo fit a square.
pub(super) fn smaller(jpeg: &[u8], side: u32) -> Result<Vec<u8>, NotAPicture> {
    let picture = decode(jpeg)?;
    let fits = picture.width().max(picture.height()) <= side;
    let small = if fits { picture } else { picture.thumbnail(side, side) };
    encode(&on_white(small))
}

/// Whether bytes are a JPEG as this program writes it: no metadata in it, and decoded within the limits.
pub(super) fn is_plain_jpeg(bytes: &[u8]) -> Result<(), NotAPicture> {
    no_metadata(bytes)?;
    let picture = decode(bytes)?;
    let fits = picture.width().max(picture.height()) <= MAX_SIDE;
    if fits { Ok(()) } else { Err(NotAPicture::NotPlain("it is larger than those are made")) }
}

/// Decodes, and turns upright as the camera says.
fn decode(bytes: &[u8]) -> Result<DynamicImage, NotAPicture> {
    let format = image::guess_format(bytes).map_err(|_| NotAPicture::Format)?;
    if ![ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP].contains(&format) {
        return Err(NotAPicture::Format);
    }
    let failed = |error: ImageError| NotAPicture::Decode(error.to_string());
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::default();
    limits.max_alloc = Some(MAX_MEMORY);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(failed)?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > MAX_PIXELS {
        return Err(NotAPicture::Pixels { width, height });
    }
    let orientation = decoder.orientation().map_err(failed)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(failed)?;
    picture.apply_orientation(orientation);
    Ok(picture)
}

/// JPEG has no transparency: what lies under it is shown on white, as on a page.
fn on_white(picture: DynamicImage) -> RgbImage {
    if !picture.color().has_alpha() {
        return picture.into_rgb8();
    }
    let with_alpha = picture.into_rgba8();
    RgbImage::from_fn(with_alpha.width(), with_alpha.height(), |x, y| {
        let [red, green, blue, alpha] = with_alpha.get_pixel(x, y).0.map(u16::from);
        let over = |colour: u16| u8::try_from((colour * alpha + 255 * (255 - alpha)) / 255).unwrap_or(u8::MAX);
        Rgb([red, green, blue].map(over))
    })
}

fn encode(picture: &RgbImage) -> Result<Vec<u8>, NotAPicture> {
    let mut jpeg = Vec::new();
    let written = JpegEncoder::new_with_quality(&mut jpeg, QUALITY).encode_image(picture);
    written.map_err(|error| NotAPicture::Decode(error.to_string()))?;
    Ok(jpeg)
}

/// Walks the segments before the picture: only what decoding needs may be there (ITU-T T.81, table B.1).
fn no_metadata(bytes: &[u8]) -> Result<(), NotAPicture> {
    let broken = || NotAPicture::NotPlain("its segments are broken");
    let mut rest = bytes.strip_prefix(&[0xff, 0xd8]).ok_or(NotAPicture::NotPlain("it is no JPEG"))?;
    loop {
        let (marker, length, after) = match rest {
            [0xff, marker, high, low, after @ ..] => (*marker, u16::from_be_bytes([*high, *low]), after),
            _ => return Err(broken()),
        };
        match marker {
            // JFIF, quantisation, frame, Huffman tables, restart interval.
            0xe0 | 0xdb | 0xc0 | 0xc4 | 0xdd => {}
            // Start of scan: the picture itself follows, up to the end.
            0xda => break,
            _ => return Err(NotAPicture::NotPlain("it holds metadata")),
        }
        rest = after.get(usize::from(length).saturating_sub(2)..).ok_or_else(broken)?;
    }
    // What follows the end of the picture would be kept unseen.
    let end = rest.windows(2).position(|pair| pair == [0xff, 0xd9]);
    if end.is_some_and(|end| end + 2 == rest.len()) {
        Ok(())
    } else {
        Err(NotAPicture::NotPlain("something follows the picture"))
    }
}
