//! Backup.
