/**
 * What is this device, and how does it say so? The greeting of LINK.md, section 4.
 */
#ifndef GREET_H
#define GREET_H

/** How many requests may be under way unanswered. */
#define LINK_WINDOW 2u

/** Sends the line by which a device says that it has started. */
void greet_boot(void);

/** Sends the lines of the greeting, as reports from number 1 on. */
void greet(void);

#endif
