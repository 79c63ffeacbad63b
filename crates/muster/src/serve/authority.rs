//! A certificate authority of the yard's own, so that phones trust its server without anybody else's help.
//!
//! Its certificate is limited (RFC 5280, section 4.2.1.10) to the names it was made for, to `.local` and to private
//! addresses: a phone that trusts it trusts it for nothing beyond the yard.

use std::{
    fs::{self, OpenOptions},
    io::{self, Write as _},
    net::{IpAddr, Ipv4Addr, UdpSocket},
    path::Path,
};

use jiff::{Timestamp, tz::TimeZone};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DnType, ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer,
    KeyPair, KeyUsagePurpose, NameConstraints, date_time_ymd,
};

/// Years the authority lasts: people install it once.
const AUTHORITY_YEARS: i32 = 10;
/// Days a server certificate lasts. It is made anew at every start; browsers refuse more than 398.
const SERVER_DAYS: i64 = 90;

/// A certificate with its key, as PEM.
pub struct Identity {
    /// The server's certificate, the authority's behind it.
    pub chain: String,
    /// Its key.
    pub key: String,
    /// The authority's certificate: what people install.
    pub authority: String,
}

/// Why there is no certificate.
#[derive(Debug, thiserror::Error)]
pub enum NoCertificate {
    /// A file.
    #[error("cannot read or write {file}")]
    File {
        /// Which.
        file: String,
        /// Why.
        #[source]
        source: io::Error,
    },
    /// A certificate cannot be made of this.
    #[error("cannot make the certificate: {0}")]
    Made(#[from] rcgen::Error),
    /// The authority was made for other names.
    #[error(
        "the authority in {folder} was not made for `{name}`: start with its names, or delete authority.pem and \
         authority.key there and have every phone install the new one"
    )]
    OtherNames {
        /// Where.
        folder: String,
        /// The name.
        name: String,
    },
}

/// The authority of a folder, made on first use, and a certificate of today for these names.
///
/// # Errors
/// [`NoCertificate`] with the remedy.
pub fn identity(folder: &Path, names: &[String], now: Timestamp) -> Result<Identity, NoCertificate> {
    let (certificate, key) = (folder.join("authority.pem"), folder.join("authority.key"));
    if !certificate.is_file() || !key.is_file() {
        let (pem, secret) = authority(names, now)?;
        write_private(&key, &secret)?;
        write(&certificate, &pem)?;
        write(&folder.join("authority.names"), &names.join("\n"))?;
    }
    let made_for = read(&folder.join("authority.names"))?;
    let allowed = |name: &str| is_private(name) || made_for.lines().any(|made| made == name);
    if let Some(name) = names.iter().find(|name| !allowed(name)) {
        return Err(NoCertificate::OtherNames { folder: folder.display().to_string(), name: name.clone() });
    }
    let authority = read(&certificate)?;
    let issuer = Issuer::from_ca_cert_pem(&authority, KeyPair::from_pem(&read(&key)?)?)?;
    let mut params = CertificateParams::new(names.to_vec())?;
    params.distinguished_name.push(DnType::CommonName, names.first().map_or("muster", String::as_str));
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    params.use_authority_key_identifier_extension = true;
    params.not_before = day(now, -1);
    params.not_after = day(now, SERVER_DAYS);
    let secret = KeyPair::generate()?;
    let server = params.signed_by(&secret, &issuer)?;
    Ok(Identity { chain: format!("{}{authority}", server.pem()), key: secret.serialize_pem(), authority })
}

/// The names this machine is reached by: its own, with `.local`, and its addresses.
#[must_use]
pub fn own_names() -> Vec<String> {
    let host = fs::read_to_string("/etc/hostname").unwrap_or_default().trim().to_lowercase();
    let mut names: Vec<String> = Vec::new();
    if !host.is_empty() {
        let short = host.split('.').next().unwrap_or(&host).to_string();
        names.push(format!("{short}.local"));
        names.push(host);
    }
    names.extend(["localhost".to_string(), "127.0.0.1".to_string()]);
    names.extend(own_address().map(|address| address.to_string()));
    names.dedup();
    names
}

/// The address others on this network reach this machine by. Connecting a UDP socket sends nothing: it only asks the
/// operating system which way it would go (to an address reserved for documentation, RFC 5737).
#[must_use]
pub fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    socket.local_addr().ok().map(|address| address.ip()).filter(|address| !address.is_loopback())
}

fn authority(names: &[String], now: Timestamp) -> Result<(String, String), rcgen::Error> {
    let mut params = CertificateParams::new(Vec::new())?;
    let first = names.first().map_or("a yard", String::as_str);
    params.distinguished_name.push(DnType::CommonName, format!("Muster, yard authority of {first}"));
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    let named = names.iter().filter(|name| !is_private(name)).map(|name| match name.parse() {
        Ok(IpAddr::V4(address)) => GeneralSubtree::IpAddress(CidrSubnet::from_v4_prefix(address.octets(), 32)),
        Ok(IpAddr::V6(address)) => GeneralSubtree::IpAddress(CidrSubnet::from_v6_prefix(address.octets(), 128)),
        Err(_) => GeneralSubtree::DnsName(name.clone()),
    });
    let private = PRIVATE.map(|(net, prefix)| GeneralSubtree::IpAddress(CidrSubnet::from_v4_prefix(net, prefix)));
    let local = ["local", "localhost"].map(|name| GeneralSubtree::DnsName(name.into()));
    let permitted_subtrees = named.chain(private).chain(local).collect();
    params.name_constraints = Some(NameConstraints { permitted_subtrees, excluded_subtrees: Vec::new() });
    let today = TimeZone::UTC.to_datetime(now).date();
    params.not_before = day(now, -1);
    params.not_after = date_time_ymd(i32::from(today.year()) + AUTHORITY_YEARS, today.month().unsigned_abs(), 1);
    let key = KeyPair::generate()?;
    Ok((params.self_signed(&key)?.pem(), key.serialize_pem()))
}

/// Private and loopback networks (RFC 1918, RFC 1122).
const PRIVATE: [([u8; 4], u8); 4] =
    [([10, 0, 0, 0], 8), ([172, 16, 0, 0], 12), ([192, 168, 0, 0], 16), ([127, 0, 0, 0], 8)];

fn is_private(name: &str) -> bool {
    match name.parse::<Ipv4Addr>() {
        Ok(address) => address.is_private() || address.is_loopback(),
        Err(_) => name == "localhost" || name.ends_with(".local"),
    }
}

fn day(now: Timestamp, days: i64) -> time::OffsetDateTime {
    let then = now.as_second().saturating_add(days * 86_400);
    time::OffsetDateTime::from_unix_timestamp(then).unwrap_or(time::OffsetDateTime::UNIX_EPOCH)
}

fn read(path: &Path) -> Result<String, NoCertificate> {
    fs::read_to_string(path).map_err(|source| NoCertificate::File { file: path.display().to_string(), source })
}

fn write(path: &Path, text: &str) -> Result<(), NoCertificate> {
    fs::write(path, text).map_err(|source| NoCertificate::File { file: path.display().to_string(), source })
}

/// Writes a file that nobody else reads.
fn write_private(path: &Path, text: &str) -> Result<(), NoCertificate> {
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let written = options.open(path).and_then(|mut file| file.write_all(text.as_bytes()));
    written.map_err(|source| NoCertificate::File { file: path.display().to_string(), source })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_authority_stays_and_other_names_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let now = Timestamp::from_second(1_795_000_000).unwrap();
        let names = ["yard.example".to_string(), "yard.local".to_string(), "192.168.1.20".to_string()];
        let first = identity(folder.path(), &names, now).unwrap();
        let second = identity(folder.path(), &names, now).unwrap();
        assert_eq!(first.authority, second.authority);
        assert_ne!(first.key, second.key);
        // Addresses within private networks change, and the phones need not install anything for it.
        assert!(identity(folder.path(), &["192.168.7.9".to_string()], now).is_ok());
        let other = identity(folder.path(), &["elsewhere.example".to_string()], now);
        assert!(matches!(other, Err(NoCertificate::OtherNames { .. })));
    }
}
