// SPDX-License-Identifier: GPL-3.0-or-later

// Names for files that replace no other file.

#ifndef SR_STORE_NEW_NAME_H
#define SR_STORE_NEW_NAME_H

/// Give a file a name in the same folder that no other has. The old name may stay. 0 or errno:
/// EEXIST if the name is taken.
int sr_new_name(const char* written, const char* name);
/// The same on file systems without hard links, such as FAT: the name is taken by an empty file,
/// which is then replaced.
int sr_new_name_without_links(const char* written, const char* name);

#endif // SR_STORE_NEW_NAME_H
