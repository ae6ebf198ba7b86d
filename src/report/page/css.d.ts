/** Style sheets are taken into the bundle by the build. */
declare module '*.css';
